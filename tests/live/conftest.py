"""Property tests run on shared machines, where a slow moment is not a failure."""

from hypothesis import settings

settings.register_profile("no-deadline", deadline=None)
settings.load_profile("no-deadline")
