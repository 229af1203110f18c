"""The free transcription, and where it begins to say the same again."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.speech.free_text import _said_once, free_text
from voxlog.speech.model import SpeechModel
from voxlog.speech.priors import noise_memories

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


def test_what_was_said_has_evidence_and_noise_has_less(
    model: SpeechModel, demo: Callable[[float, float], Floats]
) -> None:
    among = np.arange(3000)
    noises = noise_memories(model)

    def heard(sound: Floats) -> tuple[str, float]:
        encoded = model.encode(sound)
        found = free_text(model, encoded, model.listen(encoded), noises, 1.2, among)
        return found.text.lower(), found.score

    said, score = heard(demo(25.4, 26.9))
    assert "hose connected" in said
    hiss = np.random.default_rng(4).standard_normal(24_000).astype(np.float32) * 0.01
    assert heard(hiss)[1] < score
