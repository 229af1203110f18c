"""Property tests run on shared machines; and what several tests of whole runs need."""

from pathlib import Path

import pytest
from hypothesis import settings

from tests.live.scripted import AUDIO, SHEET, write_heard
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import segments
from voxlog.live.listener import Listener
from voxlog.speech.listen import listen
from voxlog.speech.model_files import DEFAULT_MODEL

CACHE = Path(__file__).parents[2] / ".cache" / "voxlog"

settings.register_profile("no-deadline", deadline=None)
settings.load_profile("no-deadline")


@pytest.fixture(scope="session")
def real() -> Listener:
    return Listener.load(SHEET, DEFAULT_MODEL, CACHE)


@pytest.fixture(scope="session")
def heard(real: Listener, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the real recogniser hears in the demonstration."""
    path = tmp_path_factory.mktemp("heard") / "heard.pickle"
    speech = segments(open_recording([AUDIO]))
    write_heard(path, list(listen(real.recognise, real.answered, speech, lambda at: None)))
    return path
