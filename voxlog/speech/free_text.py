"""The free transcription of a segment, and how well it explains the audio."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voxlog.numbers.normalise import normalise
from voxlog.speech.decoder import AudioMemory
from voxlog.speech.model import SpeechModel
from voxlog.speech.search import PRIOR_FLOOR, PRIOR_SHARE

__all__ = ["FreeText", "free_text"]

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]
TOKENS_PER_SECOND = 6.0
MOST_TOKENS = 40
"""Tokens that a text may have: Whisper repeats itself in a short window when nothing stops it."""


@dataclass(frozen=True, slots=True)
class FreeText:
    """text: as transcribed, as far as it explains the audio: Whisper says the same again in a short
    window. score: evidence in nats that it was said rather than nothing.
    """

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
    on_audio, *on_noise = (
        model.decoding(heard).text(model.prompt, tokens, model.end_of_text, among)
        for heard in (memory, *noises)
    )
    said = on_audio.said - PRIOR_SHARE * _prior([one.said for one in on_noise])
    stop = on_audio.stop - PRIOR_SHARE * _prior([one.stop for one in on_noise])
    scores = np.concatenate([[0.0], np.cumsum(said)]) + stop
    best = int(scores[: _said_once(model, tokens) + 1].argmax())
    return FreeText(model.text(tokens[:best]), float(scores[best]))


def _said_once(model: SpeechModel, tokens: list[int]) -> int:
    """How many tokens there are before the text starts to say the same again, or to go round.

    One token that comes back after two is no such start: "five by five", "hold hold hold".
    """
    words = [normalise(model.text([token])) for token in tokens]
    for length in range(2, len(words)):
        again = words[length:]
        if again == words[: len(again)] and (length > 2 or len(again) > 1):
            return length
        if _goes_round(words[length - 2 :]):
            return length
    return len(words)


def _goes_round(words: list[str]) -> bool:
    """Whether two words or more are said twice, and then nothing else: "in range in range in"."""
    return len(words) > 3 and all(word == words[n % 2] for n, word in enumerate(words))


def _prior(on_noise: list[Floats]) -> Floats:
    return np.maximum(np.mean(on_noise, axis=0, dtype=np.float32), PRIOR_FLOOR)
