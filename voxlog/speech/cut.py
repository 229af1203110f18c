"""Where in a segment its phrases lie, and where it is cut in two."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from voxlog.audio.segment import Segment
from voxlog.speech.pace import SECONDS_PER_LETTER, seconds_to_say

__all__ = ["bursts_within", "sides", "spans", "without_others"]

SAMPLES_PER_SECOND = 16_000
PAUSE_REACH = 0.7


def sides(segment: Segment) -> tuple[Segment, Segment]:
    """A segment of several bursts cut in the middle of its widest pause."""
    pauses = [later[0] - earlier[1] for earlier, later in pairwise(segment.bursts)]
    place = pauses.index(max(pauses)) + 1
    left, right = segment.bursts[:place], segment.bursts[place:]
    middle = (left[-1].end + right[0].start) // 2
    return (
        Segment(segment.channel, segment.start, middle, left),
        Segment(segment.channel, middle, segment.end, right),
    )


def spans(bursts: Sequence[tuple[int, int]], texts: list[str]) -> list[tuple[float, float]]:
    """Where each text lies, in samples: cut in proportion, or at a pause where one is near.

    The pause nearest to a cut parts texts and bursts; each side is then cut by itself, so that no
    pause serves twice and no text is left without voice.
    """
    first, last = bursts[0][0], bursts[-1][1]
    shares = np.cumsum([seconds_to_say(text) for text in texts])
    cuts = [first + float(share) * (last - first) for share in shares[:-1] / shares[-1]]
    distances = [
        (abs(cut - (earlier[1] + later[0]) / 2), text, burst)
        for text, cut in enumerate(cuts, start=1)
        for burst, (earlier, later) in enumerate(pairwise(bursts), start=1)
    ]
    distance, text, burst = min(distances, default=(math.inf, 0, 0))
    if distance > PAUSE_REACH * SAMPLES_PER_SECOND:
        return list(pairwise([first, *cuts, last]))
    return [*spans(bursts[:burst], texts[:text]), *spans(bursts[burst:], texts[text:])]


def without_others(
    segment: Segment, words: Sequence[str], begins: NDArray[np.float32], least: float
) -> tuple[tuple[int, int], ...]:
    """The bursts of a segment without what somebody else says before these words and after them.

    begins: seconds from the segment's start at which each word begins, and the last one ends. The
    first word's length is reckoned back from its end: whatever is said before it counts as part of
    it. least: seconds of voice from which it was somebody else, and not a slow speaker.
    """
    start = segment.start + SAMPLES_PER_SECOND * (
        float(begins[1]) - SECONDS_PER_LETTER * len(words[0])
    )
    end = segment.start + SAMPLES_PER_SECOND * float(begins[-1])
    bursts = segment.bursts
    if _voiced(_cut(bursts, 0, start)) >= least * SAMPLES_PER_SECOND:
        bursts = _cut(bursts, start, segment.end)
    if _voiced(_cut(bursts, end, segment.end)) >= least * SAMPLES_PER_SECOND:
        bursts = _cut(bursts, 0, end)
    return bursts or segment.bursts


def _cut(
    bursts: Sequence[tuple[int, int]], start: float, end: float
) -> tuple[tuple[int, int], ...]:
    """What lies between two samples."""
    cut = ((max(first, round(start)), min(last, round(end))) for first, last in bursts)
    return tuple((first, last) for first, last in cut if first < last)


def _voiced(bursts: Sequence[tuple[int, int]]) -> int:
    return sum(last - first for first, last in bursts)


def bursts_within(segment: Segment, start: float, end: float) -> tuple[tuple[float, float], ...]:
    """The stretches of voice between two moments, cut to them, in seconds."""
    bursts = (
        (max(first / SAMPLES_PER_SECOND, start), min(last / SAMPLES_PER_SECOND, end))
        for first, last in segment.bursts
    )
    return tuple((first, last) for first, last in bursts if first < last)
