"""Bursts, drawn: A is voice (0.9), a is weak voice (0.4), a dot is silence (0.1)."""

from dataclasses import replace

import pytest

from voxlog.audio.burst import FRAME, Burst, BurstFinder, BurstRules, bursts

LEVELS = {"A": 0.9, "a": 0.4, ".": 0.1}
RULES = BurstRules(on=0.5, off=0.3, shortest=2, pause=3)


def drawn(text: str) -> list[float]:
    return [LEVELS[letter] for letter in text]


def underlined(found: tuple[Burst, ...], length: int) -> str:
    """Marks the first frame of a burst ``[``, its last ``]`` and those between ``-``."""
    line = [" "] * length
    for burst in found:
        first, last = burst.start // FRAME, burst.end // FRAME - 1
        line[first : last + 1] = "-" * (last + 1 - first)
        line[first], line[last] = "[", "]"
    return "".join(line)


@pytest.mark.parametrize(
    ("voice", "expected"),
    [
        # Silence, and voice up to both ends.
        ("........", "        "),
        ("AAAAAAAA", "[------]"),
        # Weak voice keeps a burst alive but begins none.
        ("..aaaa..", "        "),
        ("..AaaA..", "  [--]  "),
        (".aaAAaa.", "   [--] "),
        # Two quiet frames are a stop inside a word, three are a pause.
        (".AA..AA.", " [----] "),
        ("AA...AA.", "[]   [] "),
        # A weak frame breaks the count of quiet ones.
        ("AA..a..A", "[------]"),
        # One frame is a click.
        ("...A....", "        "),
        ("..A...AA", "      []"),
        # The pause that was not long enough is not part of the last burst.
        (".AAA..  ".replace(" ", "."), " [-]    "),
        ("....AA..", "    []  "),
    ],
)
def test_bursts_begin_and_end_where_drawn(voice: str, expected: str) -> None:
    found = bursts(drawn(voice), RULES)
    assert underlined(found, len(voice)) == expected


def test_a_burst_that_does_not_end_comes_in_touching_pieces() -> None:
    found = bursts(drawn("AAAAAAAAAA...."), replace(RULES, longest=4))
    assert found == (
        Burst(0, 4 * FRAME),
        Burst(4 * FRAME, 8 * FRAME),
        Burst(8 * FRAME, 10 * FRAME),
    )


@pytest.mark.parametrize("portion", [1, 2, 3, 5, 7, 100])
def test_portions_change_nothing(portion: int) -> None:
    voice = drawn("..AAaa.A..AA...A....AAAAAAAA....aaAA.")
    finder = BurstFinder(replace(RULES, longest=5))
    found: list[Burst] = []
    for first in range(0, len(voice), portion):
        found += finder.push(voice[first : first + portion])
    found += finder.finish()
    assert tuple(found) == bursts(voice, replace(RULES, longest=5))


@pytest.mark.parametrize(
    ("voice", "frames"), [("....", 4), ("..AA", 2), ("..AA..", 2), ("..AA...", 7)]
)
def test_known_until_is_the_open_burst_or_the_present(voice: str, frames: int) -> None:
    finder = BurstFinder(RULES)
    finder.push(drawn(voice))
    assert finder.known_until == frames * FRAME


@pytest.mark.parametrize(
    ("probabilities", "expected"),
    [
        ([0.19] * 5, []),
        ([0.2] * 5, [(0, 5)]),
        # Once begun, 0.1 keeps it alive; three frames of less end it.
        ([0.9, 0.9, 0.1, 0.1, 0.1, 0.1, 0.9], [(0, 7)]),
        ([0.9, 0.9, 0.09, 0.09, 0.09, 0.9, 0.9], [(0, 2), (5, 7)]),
    ],
)
def test_the_usual_rules(probabilities: list[float], expected: list[tuple[int, int]]) -> None:
    found = [(burst.start // FRAME, burst.end // FRAME) for burst in bursts(probabilities)]
    assert found == expected
