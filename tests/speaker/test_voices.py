"""Voices learned from a run: told apart, unsure where there is little to go by, never by itself."""

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.speaker.voices import UNKNOWN, Line, learn_voices, voices_of

Doubles = NDArray[np.float64]
SIZE = 80
PEOPLE = {
    name: np.random.default_rng(n).normal(0, 0.1, SIZE) for n, name in enumerate(("a", "b", "c"))
}


def lines(who: str, seed: int = 9, spread: float = 0.1, *, is_clear: bool = True) -> list[Line]:
    """A line for each letter: capitals are said by "c" where another was to speak."""
    random = np.random.default_rng(seed)
    return [
        Line(
            letter.lower(),
            (
                PEOPLE["c" if letter.isupper() else letter] + random.normal(0, spread, SIZE)
            ).tobytes(),
            is_clear,
        )
        for letter in who
    ]


def likeliest(who: str, **options: float) -> str:
    """The likeliest voice of each line, "-" where none is known."""
    found = voices_of(lines(who, **options), "a", numbers=np.frombuffer)
    return "".join(max(each, key=lambda one: each[one]) if each else "-" for each in found)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("", ""),
        ("ab" * 6, "-" * 12),
        ("ab" * 12, "-" * 16 + "ab" * 4),
        ("abc" * 10, "-" * 16 + "bca" * 4 + "bc"),
        ("a" * 30, "-" * 30),  # nothing to tell it from
    ],
)
def test_voices_are_known_after_the_first_lines(said: str, expected: str) -> None:
    assert likeliest(said) == expected


def test_who_speaks_for_another_is_found_and_does_not_spoil_the_others_voice() -> None:
    """Two of the lines of b that are learned from are of c; so are two of the last ones."""
    said = "abc" * 8 + "aBc" * 2 + "abc" * 4 + "aBcaBc"
    assert likeliest(said)[-6:] == "accacc"
    assert set(likeliest(said)[30:42].replace("-", "")) == {"a", "b", "c"}


def test_what_comes_later_changes_nothing() -> None:
    said = lines("abc" * 20)
    whole = voices_of(said, "a", numbers=np.frombuffer)
    for count in (5, 16, 17, 40):
        assert voices_of(said[:count], "a", numbers=np.frombuffer) == whole[:count]


def test_unclear_lines_are_judged_and_not_learned_from() -> None:
    known = lines("abc" * 8)
    unclear = lines("a" * 8, seed=3, is_clear=False)
    assert not any(voices_of([*unclear, *unclear, *unclear], "a", numbers=np.frombuffer))
    assert all(
        max(each, key=lambda one: each[one]) == "a"
        for each in voices_of(known + unclear, "a", numbers=np.frombuffer)[24:]
    )


def test_probabilities_add_up_and_are_less_sure_where_voices_vary() -> None:
    sure, unsure = (
        voices_of(lines("ab" * 30, spread=spread), "a", numbers=np.frombuffer)[20:]
        for spread in (0.05, 0.4)
    )
    for found in (sure, unsure):
        assert all(abs(sum(each.values()) - 1) < 1e-9 for each in found)
        assert all(each.keys() == {"a", "b", UNKNOWN} for each in found)
    best = [np.mean([max(each["a"], each["b"]) for each in found]) for found in (sure, unsure)]
    assert best[0] > best[1]


def test_distances_are_those_of_linear_discriminant_analysis() -> None:
    """Against plain arithmetic: the covariance that the whitening undoes."""
    voices = learn_voices(lines("ab" * 20), np.frombuffer)
    assert voices is not None
    covariance = np.linalg.inv(voices.whitening @ voices.whitening.T)
    apart = PEOPLE["a"] - voices.centres[0]
    distance = apart @ np.linalg.solve(covariance, apart) * 20 / 21
    assert voices.scores(PEOPLE["a"][None])[0, 0] == pytest.approx(-distance / 2)
