"""The free transcription, and where it begins to say the same again."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.speech.free_text import _said_once, free_text, parted_after
from voxlog.speech.model import SpeechModel

Floats = NDArray[np.float32]


class Words:
    """Stands for the model: a token is the index of its word."""

    def __init__(self, text: str) -> None:
        self.words = text.split()
        self.tokens = list(range(len(self.words)))

    def text(self, tokens: list[int]) -> str:
        return " ".join(self.words[token] for token in tokens)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", 0),
        ("roger", 1),
        ("clear to climb", 3),
        # Said twice, or broken off in the middle of the second time.
        ("clear to climb clear to climb", 3),
        ("clear to climb clear to", 3),
        ("clear to climb Clear, to climb.", 3),
        ("on one on one on one", 2),
        # Going round at the end.
        ("rescue team in position in position in", 4),
        # Said again in all but the same words.
        ("go forward 10 metres Go forward ten", 4),
        ("seven of clubs seven of club clubs", 3),
        ("left hand right hand", 4),
        ("ten of clubs two of clubs", 6),
        ("seven of clubs seven of", 3),
        # One word may be meant twice, and a word may come back.
        ("hold hold hold", 3),
        ("one five one", 3),
        ("resting heart rate Resting", 3),
        ("two one two three", 4),
    ],
)
def test_said_once(text: str, expected: int) -> None:
    words = Words(text)
    assert _said_once(words, words.tokens) == expected  # type: ignore[arg-type]


def test_the_words_that_were_said_are_in_it(
    model: SpeechModel, demo: Callable[[float, float], Floats]
) -> None:
    assert "hose connected" in free_text(model, model.encode(demo(25.4, 26.9)), 1.2).lower()


@pytest.mark.parametrize(
    ("words", "said", "rest"),
    [
        ("two minutes mass pressure 9 millimeters", "two minutes", "mass pressure 9 millimeters"),
        ("recovered saturation 97 correction 98", "recovered saturation 97", "correction 98"),
        # Misheard, but for the most part.
        ("resting hard rate 79", "resting heart rate", "79"),
        ("clear to climb", "clear to climb", ""),
        # Nothing of it was said.
        ("", "roger", ""),
        ("xx", "ooo", "xx"),
    ],
)
def test_a_text_is_parted_after_what_was_said(words: str, said: str, rest: str) -> None:
    likeness, found = parted_after(words, said)
    assert found == rest
    assert 0 <= likeness <= 100
    assert (likeness == 100) == (words.startswith(said) and words != "")
