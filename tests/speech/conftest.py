"""The default speech model, loaded once, and pieces of the demonstration recording."""

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import DEFAULT_MODEL, ModelFiles, find_model

ROOT = Path(__file__).parents[2]
RATE = 16_000

Floats = NDArray[np.float32]


@pytest.fixture(scope="session", autouse=True)
def one_thread() -> Iterator[None]:
    """As the pipeline has it: arithmetic on one core, and much quicker where others are busy."""
    with threadpool_limits(1):
        yield


@pytest.fixture(scope="session")
def model_files() -> ModelFiles:
    return find_model(DEFAULT_MODEL, ROOT / ".cache" / "voxlog")


@pytest.fixture(scope="session")
def model(model_files: ModelFiles) -> SpeechModel:
    return SpeechModel(model_files, threads=1)


@pytest.fixture(scope="session")
def demo() -> Callable[[float, float], Floats]:
    """Cuts the demonstration recording: ``demo(2.5, 4.0)`` is the sound between two seconds."""
    samples, rate = soundfile.read(ROOT / "samples_synthetic" / "demo.flac", dtype="float32")
    assert rate == RATE
    return lambda start, end: samples[round(start * RATE) : round(end * RATE)]


@pytest.fixture(scope="session")
def encoded(model: SpeechModel, demo: Callable[[float, float], Floats]) -> Floats:
    """ "Oxygen regulator", "on one hundred", encoded."""
    return model.encode(demo(16.8, 19.9))
