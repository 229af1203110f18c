"""The free transcription of a segment, and how well it explains the audio."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voxlog.speech.decoder import AudioMemory
from voxlog.speech.model import SpeechModel
from voxlog.speech.search import PRIOR_SHARE

__all__ = ["FreeText", "free_text"]

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]
TOKENS_PER_SECOND = 6.0
MOST_TOKENS = 40
"""Tokens that a text may have: Whisper repeats itself in a short window when nothing stops it."""


@dataclass(frozen=True, slots=True)
class FreeText:
    """text: as transcribed. score: evidence in nats that it was said rather than nothing."""

    text: str
    score: float


def free_text(
    model: SpeechModel,
    encoded: Floats,
    memory: AudioMemory,
    noises: tuple[AudioMemory, ...],
    voiced: float,
    among: Ints,
) -> FreeText:
    """Transcribe encoded audio freely, and score the text as the sheet's phrases are scored.

    voiced: seconds of voice in it. among: tokens to normalise over, as for the phrases.
    """
    most = min(4 + int(voiced * TOKENS_PER_SECOND), MOST_TOKENS)
    tokens = model.transcribe(encoded, most)
    whole = [*tokens, model.end_of_text]
    on_audio, *on_noise = (
        model.decoding(heard).text(model.prompt, whole, among) for heard in (memory, *noises)
    )
    return FreeText(model.text(tokens), on_audio - PRIOR_SHARE * float(np.mean(on_noise)))
