"""A listener without a model, which heard the demonstration once and knows it by its places.

So a run can be recorded, killed and finished without the model, with the rows of a real one.
"""

import pickle
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.live.listener import Listener
from voxlog.sheet.load import load_sheet
from voxlog.sheet.phrases import sheet_phrases
from voxlog.speech.model_files import ModelFiles
from voxlog.speech.rejoin import Listened
from voxlog.speech.utterance import Utterance

__all__ = ["AUDIO", "SHEET", "as_heard", "listener_of", "write_heard"]

ROOT = Path(__file__).parents[2]
AUDIO = ROOT / "samples_synthetic" / "demo.flac"
SHEET = ROOT / "grammars" / "demo.yaml"


def write_heard(path: Path, heard: list[Utterance]) -> None:
    """Keep what the real recogniser made of the demonstration."""
    path.write_bytes(pickle.dumps(heard))


def listener_of(path: Path, sheet: Path = SHEET, model: str = "none") -> Listener:
    """The listener that knows what `write_heard` kept."""
    heard: list[Utterance] = pickle.loads(path.read_bytes())
    loaded = load_sheet(sheet)
    files = ModelFiles(model, path.parent, "0" * 64)
    attempts = partial(_at_its_place, heard)
    return Listener(sheet.read_bytes(), loaded, sheet_phrases(loaded), files, attempts, as_heard)


def as_heard(one: Listened, before: Sequence[Listened]) -> Listened:
    return one


def _at_its_place(
    heard: list[Utterance], segment: Segment, audio: NDArray[np.float32]
) -> list[tuple[Utterance, ...]]:
    """What began in the segment. Text alone where nothing did: a piece of something longer."""
    first, last = segment.bursts[0][0] / RATE, segment.bursts[-1][1] / RATE
    found = tuple(one for one in heard if first - 0.05 <= one.start < last)
    return [found or (Utterance(segment.channel, first, last, ((first, last),), "", ()),)]
