"""What every test gets: random cases that repeat in CI, and a cache that is not the user's."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).parents[1]

# Machines are shared, so a slow moment is no failure; in CI the same cases are drawn every time.
settings.register_profile("voxlog", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("voxlog")


@pytest.fixture
def own_cache(monkeypatch: pytest.MonkeyPatch) -> Path:
    """voxlog's cache in the repository, so that a second run of the tests is quicker."""
    cache = ROOT / ".cache" / "voxlog"
    monkeypatch.setenv("VOXLOG_CACHE", str(cache))
    return cache
