"""Segments, drawn: one letter is one frame, a letter is voice, a dot is silence.

The rules are not the usual ones but round ones: bursts closer than 2 join, chain pieces are shorter
than 6 with gaps under 9, the limit is 40 and the padding 1.
"""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.audio import RATE
from voxlog.audio.burst import Burst
from voxlog.audio.segment import Joiner, JoinRules, Segment, join_bursts

RULES = JoinRules(gap=2, chain_burst=6, chain_gap=9, chain_length=3, limit=40, lead=1, tail=1)


def drawn(text: str) -> list[Burst]:
    """A burst for each stretch of the same letter."""
    found: list[Burst] = []
    for place, letter in enumerate(text):
        if letter == ".":
            continue
        if place and text[place - 1] == letter:
            found[-1] = Burst(found[-1].start, place + 1)
        else:
            found.append(Burst(place, place + 1))
    return found


def underlined(segments: tuple[Segment, ...], voice: str) -> str:
    """Carets from the first to the last sample, ``|`` for the first where two segments touch."""
    line = [" "] * len(voice)
    for segment in segments:
        line[segment.start : segment.end] = "^" * (segment.end - segment.start)
        if segment.start and line[segment.start - 1] != " ":
            line[segment.start] = "|"
    return "".join(line)


@pytest.mark.parametrize(
    ("voice", "expected"),
    [
        # Nothing, one, and padding that stops at both ends of the recording.
        (
            "..........",
            "          ",
        ),
        (
            "..aaaaaaaa..",
            " ^^^^^^^^^^ ",
        ),
        (
            "aaaaaaaaaa",
            "^^^^^^^^^^",
        ),
        # A gap of one joins, a gap of two does not.
        (
            "..aaaaaaaa.bbbbbbbb..",
            " ^^^^^^^^^^^^^^^^^^^ ",
        ),
        (
            "..aaaaaaaa..bbbbbbbb..",
            " ^^^^^^^^^^|^^^^^^^^^ ",
        ),
        (
            "..aaaaaaaa...bbbbbbbb..",
            " ^^^^^^^^^^ ^^^^^^^^^^ ",
        ),
        # Three short pieces are a count; two are not.
        (
            "..aaa....bbb....ccc..",
            " ^^^^^^^^^^^^^^^^^^^ ",
        ),
        (
            "..aaa....bbb.........",
            " ^^^^^  ^^^^^        ",
        ),
        # A piece may itself be two bursts close together ("thr-ee").
        (
            "..a.a....bbb....ccc..",
            " ^^^^^^^^^^^^^^^^^^^ ",
        ),
        # A gap of eight keeps the count, of nine ends it.
        (
            ".aa........bb........cc.",
            "^^^^^^^^^^^^^^^^^^^^^^^^",
        ),
        (
            ".aa........bb.........cc.",
            "^^^^      ^^^^       ^^^^",
        ),
        # What is said before and after in a longer piece stays apart from the count.
        (
            ".aaaaaaaa..bb...cc...dd...eeeeeeee.",
            "^^^^^^^^^^|^^^^^^^^^^^^^ ^^^^^^^^^^",
        ),
        # Five frames are short, six are not.
        (
            ".aaaaa..bbbbb..ccccc.",
            "^^^^^^^^^^^^^^^^^^^^^",
        ),
        (
            ".aaaaa..bbbbbb..ccccc.",
            "^^^^^^^|^^^^^^^|^^^^^^",
        ),
    ],
)
def test_bursts_join(voice: str, expected: str) -> None:
    assert underlined(join_bursts(drawn(voice), RULES, samples=len(voice)), voice) == expected


@pytest.mark.parametrize(
    ("voice", "expected"),
    [
        # 40 with padding is the limit itself.
        (
            ".aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa.",
            "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^",
        ),
        # One burst too long: cut at the limit, no sound lost and none twice.
        (
            ".aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa.",
            "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^|^^^^^^^^^^^^",
        ),
        # Touching pieces of a burst count as the burst.
        (
            ".aaaaaaaaaaaaaaaaaaaabbbbbbbbbbbbbbbbbbbbcccccccccc.",
            "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^|^^^^^^^^^^^^",
        ),
        # Equal gaps: cut in the last before the limit; the one frame of gap goes to the left part.
        (
            ".aaaaaaaaaaaaaaaaaaaa.bbbbbbbbbb.cccccccccccccccccccc.",
            "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^|^^^^^^^^^^^^^^^^^^^^",
        ),
        # A count longer than the limit: cut in its widest gap, and both halves stay joined.
        (
            ".aa...bb...cc......dd...ee...ff...gg...hh...ii....",
            "^^^^^^^^^^^^^^    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^   ",
        ),
    ],
)
def test_no_segment_is_longer_than_the_limit(voice: str, expected: str) -> None:
    assert underlined(join_bursts(drawn(voice), RULES, samples=len(voice)), voice) == expected


def test_a_long_run_is_cut_at_its_widest_gap() -> None:
    rules = JoinRules(gap=6, chain_burst=7, chain_gap=9, limit=40, lead=1, tail=1)
    voice, expected = (
        ".aaaaaaaaaaaa.bbbbbbbb.....ccccccccc..dddddddddddddddddddd.",
        "^^^^^^^^^^^^^^^^^^^^^^^   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^",
    )
    assert underlined(join_bursts(drawn(voice), rules), voice) == expected


def test_a_segment_keeps_its_bursts_and_channel() -> None:
    (segment,) = join_bursts([(10, 20), (21, 25)], RULES, channel=3)
    assert segment == Segment(3, 9, 26, (Burst(10, 20), Burst(21, 25)))


def seconds(*bursts: tuple[float, float]) -> list[tuple[float, float]]:
    """Segments that the usual rules make of bursts, all in seconds."""
    samples = [(round(start * RATE), round(end * RATE)) for start, end in bursts]
    return [(one.start / RATE, one.end / RATE) for one in join_bursts(samples)]


@pytest.mark.parametrize(
    ("bursts", "expected"),
    [
        # A spoken countdown, 0.5 s words a second apart, is one.
        ([(1, 1.5), (2, 2.5), (3, 3.5), (4, 4.5)], [(0.75, 4.6)]),
        # Questions and answers of 1.5 s are apart, 2 s or 0.2 s after one another.
        ([(8, 9.5), (11.5, 13)], [(7.75, 9.6), (11.25, 13.1)]),
        ([(8, 9.5), (9.7, 11.2)], [(7.75, 9.6), (9.6, 11.3)]),
        # A quick exchange is no countdown: "intercom check", "loud and clear", "supply pressure".
        ([(1, 1.9), (2.4, 3.2), (3.8, 4.9)], [(0.75, 2), (2.15, 3.3), (3.55, 5)]),
        # A pause inside a phrase, 0.15 s, is no end.
        ([(1, 1.9), (2.05, 3)], [(0.75, 3.1)]),
    ],
)
def test_the_usual_rules_in_seconds(
    bursts: list[tuple[float, float]], expected: list[tuple[float, float]]
) -> None:
    assert seconds(*bursts) == expected


@pytest.mark.parametrize(
    "fault", [{"tail": 5000}, {"gap": 30000}, {"chain_burst": 14 * RATE}, {"limit": 4800}]
)
def test_rules_that_contradict_each_other_are_refused(fault: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="must hold"):
        JoinRules(**fault)


LENGTHS = st.lists(st.tuples(st.integers(0, 12), st.integers(1, 60)), max_size=60)


def bursts_of(lengths: list[tuple[int, int]]) -> list[Burst]:
    found, place = [], 0
    for gap, length in lengths:
        found.append(Burst(place + gap, place + gap + length))
        place += gap + length
    return found


@given(LENGTHS)
def test_all_voice_is_in_a_segment_and_none_in_two(lengths: list[tuple[int, int]]) -> None:
    bursts = bursts_of(lengths)
    segments = join_bursts(bursts, RULES)
    voice = [sample for burst in bursts for sample in range(*burst)]
    kept = [sample for s in segments for burst in s.bursts for sample in range(*burst)]
    assert kept == voice
    for segment in segments:
        assert 0 <= segment.start <= segment.bursts[0].start
        assert segment.bursts[-1].end <= segment.end
        assert segment.end - segment.start <= RULES.limit
    for left, right in pairwise(segments):
        assert left.end <= right.start


@given(LENGTHS)
def test_settling_early_changes_no_segment(lengths: list[tuple[int, int]]) -> None:
    """Telling the joiner after each burst how far all is known gives the same, only sooner."""
    bursts = bursts_of(lengths)
    joiner = Joiner(0, RULES)
    segments: list[Segment] = []
    for burst in bursts:
        segments += joiner.settle(burst.start)
        segments += joiner.push(burst)
    segments += joiner.finish()
    assert tuple(segments) == join_bursts(bursts, RULES)


@given(LENGTHS)
def test_pending_from_is_where_the_next_segment_starts(lengths: list[tuple[int, int]]) -> None:
    joiner = Joiner(0, RULES)
    promised = None
    for burst in bursts_of(lengths):
        for segment in joiner.push(burst)[:1]:
            assert promised is None or segment.start == promised
        promised = joiner.pending_from
    for segment in joiner.finish()[:1]:
        assert segment.start == promised


@given(LENGTHS)
def test_what_is_pending_is_what_the_end_would_bring(lengths: list[tuple[int, int]]) -> None:
    joiner = Joiner(rules=RULES)
    for burst in bursts_of(lengths):
        joiner.push(burst)
        joiner.settle(burst.end + RULES.gap)
    assert joiner.pending() == tuple(joiner.finish())
    assert joiner.pending() == ()


@pytest.mark.parametrize(
    ("voice", "settled", "expected"),
    [
        ("..aa", 4, []),  # it may go on
        ("..aa", 6, [(2, 4)]),
        ("..aa....bb", 12, [(2, 4), (8, 10)]),
        ("..aa....bb....cc", 18, [(2, 16)]),  # a count
        ("..aaaaaaaa", 12, []),  # too long for a count: returned already
    ],
)
def test_a_short_stretch_can_be_heard_before_a_count_is_ruled_out(
    voice: str, settled: int, expected: list[tuple[int, int]]
) -> None:
    joiner = Joiner(rules=RULES)
    for burst in drawn(voice):
        joiner.push(burst)
    joiner.settle(settled)
    assert [(one.bursts[0].start, one.bursts[-1].end) for one in joiner.pending()] == expected


@given(LENGTHS)
def test_what_is_perhaps_over_is_what_more_silence_makes_of_it(
    lengths: list[tuple[int, int]],
) -> None:
    joiner = Joiner(rules=RULES)
    for burst in bursts_of(lengths):
        ready = joiner.push(burst)
        assert joiner.perhaps_over(burst.end + RULES.tail - 1) is None
        ahead = joiner.perhaps_over(burst.end + RULES.tail)
        ready += joiner.settle(burst.end + RULES.gap)
        assert ahead == [*ready, *joiner.pending()][-1]
        assert joiner.perhaps_over(burst.end + RULES.gap) is None
