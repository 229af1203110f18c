"""A run sheet with the recogniser that listens for it."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voxlog.audio.segment import Segment
from voxlog.live.hearing import Attempts
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import Phrase, sheet_phrases
from voxlog.speaker.attach import attempts_with_voices, last_attempt
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import ModelFiles, find_model
from voxlog.speech.recognise import Recogniser
from voxlog.speech.rejoin import Answered
from voxlog.speech.utterance import Utterance

__all__ = ["Listener"]

Floats = NDArray[np.float32]

LIVE_THREADS = 2


@dataclass(frozen=True)
class Listener:
    """A sheet with the recogniser that listens for it; loading takes seconds."""

    sheet_yaml: bytes
    sheet: Sheet
    phrases: tuple[Phrase, ...]
    model: ModelFiles
    attempts: Attempts
    answered: Answered

    @classmethod
    def load(cls, sheet: Path, model: str, cache: Path) -> "Listener":
        """InputError for a bad sheet or model."""
        loaded = load_sheet(sheet)
        phrases = sheet_phrases(loaded)
        speech = SpeechModel(find_model(model, cache), LIVE_THREADS)
        recogniser = Recogniser(speech, phrases, cache)
        hear = recogniser.attempts, recogniser.with_answers
        return cls(sheet.read_bytes(), loaded, phrases, speech.files, *hear)

    def with_voices(self, exact: Collection[int]) -> "Listener":
        """The same, with the voices of channels that carry more than one position.

        exact: the channels, from 0, that carry one each.
        """
        return replace(self, attempts=attempts_with_voices(self.attempts, exact))

    def recognise(self, segment: Segment, audio: Floats) -> tuple[Utterance, ...]:
        """What was said in a segment, after all attempts."""
        return last_attempt(self.attempts)(segment, audio)
