"""The free transcription of a segment: what it sounds like, whatever the sheet lists."""

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz

from voxlog.numbers.normalise import normalise
from voxlog.speech.model import SpeechModel

__all__ = ["free_text", "parted_after"]

Floats = NDArray[np.float32]
TOKENS_PER_SECOND = 6.0
LEAST_TOKENS = 4
"""Tokens that a text may have, and so many more: Whisper repeats itself in a short window when
nothing stops it."""

FEWEST = 3
"""Tokens of a second beginning, the first two the very same, from which it counts as one."""
ALL_BUT_SAME = 75.0
"""Likeness to the first beginning, of 100, that it needs then. Both by judgement, on no data."""


def free_text(model: SpeechModel, encoded: Floats, voiced: float) -> str:
    """Transcribe encoded audio freely and without any prompt.

    voiced: seconds of voice in it.
    """
    tokens = model.transcribe(encoded, LEAST_TOKENS + int(voiced * TOKENS_PER_SECOND))
    return model.text(tokens[: _said_once(model, tokens)])


def _said_once(model: SpeechModel, tokens: list[int]) -> int:
    """How many tokens there are before the text starts to say the same again, or to go round.

    One token that comes back after two is no such start: "five by five", "hold hold hold".
    """
    words = [normalise(model.text([token])) for token in tokens]
    for length in range(2, len(words)):
        again = words[length:]
        if again == words[: len(again)] and (length > 2 or len(again) > 1):
            return length
        if _goes_round(words[length - 2 :]) or _begins_anew(words, again):
            return length
    return len(words)


def _begins_anew(words: list[str], again: list[str]) -> bool:
    """Whether the rest is all but the beginning: "go forward 10 metres go forward ten"."""
    if len(again) < FEWEST or again[:2] != words[:2]:
        return False
    return fuzz.ratio(" ".join(again), " ".join(words[: len(again)])) >= ALL_BUT_SAME


def _goes_round(words: list[str]) -> bool:
    """Whether two words or more are said twice, and then nothing else: "in range in range in"."""
    return len(words) > 3 and all(word == words[n % 2] for n, word in enumerate(words))


def parted_after(words: str, said: str) -> tuple[float, str]:
    """How like a text's beginning is to what was said, 0 to 100, and the text after it.

    The beginning is as many words as are most like it.
    """
    parts = words.split()
    like = [fuzz.ratio(" ".join(parts[:count]), said) for count in range(len(parts) + 1)]
    most = max(like)
    return most, " ".join(parts[like.index(most) :])
