"""Where in a segment its phrases lie."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.audio.burst import Burst
from voxlog.audio.segment import Segment
from voxlog.speech.cut import bursts_within, sides, spans, spans_among_others

RATE = 16_000


def seconds(*bursts: tuple[float, float]) -> list[tuple[int, int]]:
    return [(round(start * RATE), round(end * RATE)) for start, end in bursts]


EQUAL = ["dump valve", "oxygen off"]


@pytest.mark.parametrize(
    ("bursts", "texts", "expected"),
    [
        # One text has it all.
        ([(1, 2), (2.1, 3)], ["roger"], [(1, 3)]),
        # At the pause, if one is near; the nearer of two.
        ([(1, 2), (2.2, 3)], EQUAL, [(1, 2), (2.2, 3)]),
        ([(1, 1.8), (2.1, 2.6), (2.7, 3)], EQUAL, [(1, 1.8), (2.1, 3)]),
        # In proportion where there is none, or where it is far from the middle.
        ([(1, 3)], EQUAL, [(1, 2), (2, 3)]),
        ([(1, 1.1), (1.2, 5)], EQUAL, [(1, 3), (3, 5)]),
        # Three texts and one pause: it serves once, and the rest is shared.
        ([(0, 2), (2.2, 3.2)], [*EQUAL, "dump valve"], [(0, 1), (1, 2), (2.2, 3.2)]),
        # Three texts, two pauses.
        (
            [(0, 1), (1.2, 2.2), (2.4, 3.4)],
            [*EQUAL, "dump valve"],
            [(0, 1), (1.2, 2.2), (2.4, 3.4)],
        ),
    ],
)
def test_a_breath_is_cut_at_pauses_or_in_proportion(
    bursts: list[tuple[float, float]], texts: list[str], expected: list[tuple[float, float]]
) -> None:
    found = [(start / RATE, end / RATE) for start, end in spans(seconds(*bursts), texts)]
    assert found == [pytest.approx(span) for span in expected]


def test_longer_words_have_a_longer_share() -> None:
    (_, cut), _ = spans(seconds((0, 4)), ["mask off on my mark", "now"])
    assert cut > 2 * RATE


@st.composite
def breaths(draw: st.DrawFn) -> tuple[list[tuple[int, int]], list[str]]:
    """Bursts with the pauses that a segment may hold, up to 0.9 s, and up to three texts."""
    bursts, place = [], 0
    for length, gap in draw(
        st.lists(
            st.tuples(st.integers(1000, 40_000), st.integers(1536, 14_400)), min_size=1, max_size=5
        )
    ):
        bursts.append((place, place + length))
        place += length + gap
    return bursts, draw(st.lists(st.text("abc ", min_size=2, max_size=30), min_size=1, max_size=3))


@given(breaths())
def test_no_part_overlaps_another_and_each_has_voice(
    breath: tuple[list[tuple[int, int]], list[str]],
) -> None:
    bursts, texts = breath
    found = spans(bursts, texts)
    assert len(found) == len(texts)
    assert (found[0][0], found[-1][1]) == (bursts[0][0], bursts[-1][1])
    edges = [edge for span in found for edge in span]
    assert edges == sorted(edges)
    segment = Segment(0, bursts[0][0], bursts[-1][1], tuple(Burst(*burst) for burst in bursts))
    for start, end in found:
        assert start < end
        assert bursts_within(segment, start / RATE, end / RATE)


def test_bursts_are_cut_to_their_part() -> None:
    segment = Segment(0, 0, 64_000, (Burst(16_000, 32_000), Burst(36_800, 48_000)))
    assert bursts_within(segment, 1.5, 2.5) == ((1.5, 2.0), (2.3, 2.5))
    assert bursts_within(segment, 2.05, 2.25) == ()


@pytest.mark.parametrize(
    ("bursts", "left", "right"),
    [
        ([(1, 2), (2.4, 3)], (0.5, 2.2), (2.2, 3.5)),
        # The widest of two pauses.
        ([(1, 1.5), (1.6, 2), (2.4, 3)], (0.5, 2.2), (2.2, 3.5)),
        ([(1, 1.5), (1.9, 2.2), (2.3, 3)], (0.5, 1.7), (1.7, 3.5)),
    ],
)
def test_a_segment_is_cut_in_the_middle_of_its_widest_pause(
    bursts: list[tuple[float, float]], left: tuple[float, float], right: tuple[float, float]
) -> None:
    held = tuple(Burst(*burst) for burst in seconds(*bursts))
    first, second = sides(Segment(2, 8_000, 56_000, held))
    assert [(one.start, one.end) for one in (first, second)] == seconds(left, right)
    assert first.bursts + second.bursts == held
    assert {first.channel, second.channel} == {2}


TALKED_OVER = Segment(0, 0, 80_000, (Burst(4000, 32_000), Burst(36_000, 76_000)))

TWO = ["warmth score", "seven eight"]


@pytest.mark.parametrize(
    ("texts", "begins", "expected"),
    [
        # Words all over it; somebody before them; somebody after; both. "Warmth" takes 0.288 s.
        (["warmth score seven"], (0, 0.5, 3, 4.75), [(4000, 76_000)]),
        (["warmth score seven"], (0, 2.788, 3, 4.75), [(40_000, 76_000)]),
        (["warmth score seven"], (0, 0.5, 1, 1.5), [(4000, 24_000)]),
        (["warmth score seven"], (0, 1.788, 2.25, 2.5), [(24_000, 40_000)]),
        # Under the least that somebody else can say: a slow speaker.
        (["warmth score seven"], (0, 0.938, 3, 4.75), [(4000, 76_000)]),
        (["warmth score seven"], (0, 0.5, 3, 4.4), [(4000, 76_000)]),
        # Two texts: cut at the pause; somebody between them; before both; after both.
        (TWO, (0, 0.5, 2.1, 2.5, 4.7), [(4000, 32_000), (36_000, 76_000)]),
        (TWO, (0, 0.5, 1, 4.3, 4.7), [(4000, 16_000), (64_960, 76_000)]),
        (TWO, (0, 4, 4.3, 4.5, 4.7), [(59_392, 67_938), (67_938, 76_000)]),
        (TWO, (0, 0.5, 1, 1.2, 1.5), [(4000, 14_292), (14_292, 24_000)]),
        # A place that is too short for the texts, more than all of the voice is too long.
        (["passing two zero thousand"], (0, 4.6, 4.65, 4.7, 4.75), [(4000, 76_000)]),
        # Where there is no voice: all of it, rather than none.
        (["a"], (0, 2.2), [(4000, 76_000)]),
    ],
)
def test_what_others_say_is_no_part_of_the_texts(
    texts: list[str], begins: tuple[float, ...], expected: list[tuple[int, int]]
) -> None:
    found = spans_among_others(TALKED_OVER, texts, np.array(begins, np.float32), 0.45)
    assert found == [pytest.approx(span, abs=20) for span in expected]
