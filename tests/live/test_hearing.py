"""Speech heard at once, and again when more of it is known."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.burst import Burst
from voxlog.audio.segment import Segment
from voxlog.live.hearing import Hearing
from voxlog.speech.utterance import Heard, Sayable, Utterance

Floats = NDArray[np.float32]
Span = tuple[float, float]

PADDING = RATE // 10


def segment(*spans: Span, channel: int = 0) -> Segment:
    bursts = tuple(Burst(round(start * RATE), round(end * RATE)) for start, end in spans)
    return Segment(channel, bursts[0].start - PADDING, bursts[-1].end + PADDING, bursts)


def utterance(where: Segment, evidence: float) -> Utterance:
    start, end = where.bursts[0][0] / RATE, where.bursts[-1][1] / RATE
    heard = (Heard(Sayable(f"{len(where.bursts)} bursts", 0), evidence),)
    return Utterance(where.channel, start, end, ((start, end),), "", heard)


def run(*segments: Segment, together: float = -9.0) -> list[tuple[int, int]]:
    """For each segment how many utterances came, and how many went; checks that none is lost.

    A segment of one burst is clear speech where it is longer than half a second.
    """

    def attempts(where: Segment, audio: Floats) -> list[tuple[Utterance, ...]]:
        assert len(audio) == where.end - where.start
        first = where.bursts[0]
        alone = 5.0 if first[1] - first[0] > RATE // 2 else -3.0
        return [(utterance(where, alone if len(where.bursts) == 1 else together),)]

    hearing = Hearing(attempts, lambda one, before: one)
    counts = []
    now: list[Utterance] = []
    for one in segments:
        assert not hearing.is_known(one)
        before_it = list(now)
        for news in hearing.hear(one, np.zeros(one.end - one.start, np.float32)):
            assert all(gone in now for gone in news.instead_of)
            now = [kept for kept in now if kept not in news.instead_of] + list(news.heard)
        assert hearing.is_known(one)
        came, gone = set(now) - set(before_it), set(before_it) - set(now)
        counts.append((len(came), len(gone)))
    for before, after in pairwise(sorted(now, key=lambda one: (one.channel, one.start))):
        assert before.channel != after.channel or before.end <= after.start
    return counts


THREE, TWO, ONE, NOW = (1.0, 1.4), (2.0, 2.4), (3.0, 3.4), (4.0, 4.4)


@pytest.mark.parametrize(
    ("segments", "together", "expected"),
    [
        # Apart, and in each other's way on two channels.
        ([segment((1.0, 2.0)), segment((4.0, 5.0))], -9.0, [(1, 0), (1, 0)]),
        ([segment((1.0, 2.0)), segment((1.5, 2.5), channel=1)], -9.0, [(1, 0), (1, 0)]),
        # A phrase with a pause in it; a clear phrase and talk.
        ([segment((1.0, 2.0)), segment((2.3, 2.6))], 9.0, [(1, 0), (1, 1)]),
        ([segment((1.0, 2.0)), segment((2.3, 2.6))], 4.0, [(1, 0), (1, 0)]),
        # A count: its words, then the whole of it.
        (
            [segment(THREE), segment(TWO), segment(THREE, TWO, ONE), segment(THREE, TWO, ONE, NOW)],
            5.0,
            [(1, 0), (1, 0), (1, 2), (1, 1)],
        ),
    ],
)
def test_what_is_heard_again_replaces_what_was_heard(
    segments: list[Segment], together: float, expected: list[tuple[int, int]]
) -> None:
    assert run(*segments, together=together) == expected


def test_better_attempts_replace_the_first() -> None:
    """The quick search is told at once; the same again is not told; then both halves as one."""
    first, second = segment((1.0, 2.0)), segment((2.3, 2.6))
    both = segment((1.0, 2.0), (2.3, 2.6))
    tries = {
        first: [-2.0, 3.0, 3.0],
        second: [-2.0, -1.0],
        both: [-4.0, 9.0],
    }

    def attempts(where: Segment, audio: Floats) -> Iterator[tuple[Utterance, ...]]:
        found = next(evidence for one, evidence in tries.items() if one.bursts == where.bursts)
        for evidence in found:
            yield (utterance(where, evidence),)

    hearing = Hearing(attempts, lambda one, before: one)

    def told(where: Segment) -> list[tuple[list[float], list[float]]]:
        audio = np.zeros(where.end - where.start, np.float32)
        return [
            tuple([one.heard[0].evidence for one in side] for side in news)  # type: ignore[misc]
            for news in hearing.hear(where, audio)
        ]

    assert told(first) == [([-2.0], []), ([3.0], [-2.0])]
    assert told(second) == [([-2.0], []), ([-1.0], [-2.0]), ([9.0], [3.0, -1.0])]


def test_what_was_begun_is_told_when_it_is_over_and_not_heard_twice() -> None:
    """Nothing is told before; where speech went on after all, it is heard from the beginning."""
    heard: list[Segment] = []

    def attempts(where: Segment, audio: Floats) -> Iterator[tuple[Utterance, ...]]:
        heard.append(where)
        yield (utterance(where, -2.0),)
        yield (utterance(where, 3.0),)

    hearing = Hearing(attempts, lambda one, before: one)
    one, more = segment((1.0, 2.0)), segment((1.0, 2.0), (2.1, 3.0))
    audio = {each: np.zeros(each.end - each.start, np.float32) for each in (one, more)}
    hearing.begin(one, audio[one])
    hearing.begin(one, audio[one])
    assert not hearing.is_known(one)
    assert [news.heard[0].heard[0].evidence for news in hearing.hear(one, audio[one])] == [-2, 3]
    hearing.begin(one, audio[one])
    assert heard == [one]

    hearing = Hearing(attempts, lambda one, before: one)
    hearing.begin(one, audio[one])
    found = [news.heard[0] for news in hearing.hear(more, audio[more])]
    assert [each.heard[0].evidence for each in found] == [-2, 3]
    assert heard == [one, one, more]
