"""Where in a segment its phrases lie, and where it is cut in two."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from voxlog.audio.burst import Burst
from voxlog.audio.segment import Segment
from voxlog.speech.pace import SECONDS_PER_LETTER, pace_evidence, seconds_to_say

__all__ = ["bursts_within", "sides", "spans", "spans_among_others", "voiced_s"]

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


def spans_among_others(
    segment: Segment, texts: list[str], begins: NDArray[np.float32], least: float
) -> list[tuple[float, float]]:
    """The same where somebody else talks before the texts, after them, or between two of them.

    begins: seconds from the segment's start at which each word of all texts begins, and the last
    one ends. least: seconds of voice beyond a text from which it was somebody else, and not a slow
    speaker. Where the place is further from the time that the texts take than all of the voice is,
    they are taken to be all over it: words that were half heard are placed in the half that was.
    """
    starts, ends = _places(segment, texts, begins)
    gaps = list(zip([segment.start, *ends], [*starts, segment.end], strict=True))
    voiced = [voiced_s(_cut(segment.bursts, *gap)) for gap in gaps]
    is_talk = [seconds >= least for seconds in voiced]
    found: list[tuple[float, float]] = []
    first, placed = 0, 0.0
    for after in range(1, len(texts) + 1):
        if after < len(texts) and not is_talk[after]:
            continue
        start = starts[first] if is_talk[first] else segment.start
        end = ends[after - 1] if is_talk[after] else segment.end
        bursts = _cut(segment.bursts, start, end)
        if not bursts:
            return spans(segment.bursts, texts)
        found += spans(bursts, texts[first:after])
        placed += voiced_s(bursts)
        first = after
    text = " ".join(texts)
    fits = pace_evidence(text, placed) >= pace_evidence(text, voiced_s(segment.bursts))
    return found if fits else spans(segment.bursts, texts)


def _places(
    segment: Segment, texts: list[str], begins: NDArray[np.float32]
) -> tuple[list[float], list[float]]:
    """Where each text starts and ends, in samples.

    What is said before a text counts as part of its first word, whose length is therefore reckoned
    back from its end.
    """
    words = [text.split() for text in texts]
    edges = np.cumsum([0, *map(len, words)])
    moments = segment.start + SAMPLES_PER_SECOND * begins.astype(np.float64)
    lengths = [SAMPLES_PER_SECOND * SECONDS_PER_LETTER * len(one[0]) for one in words]
    starts = np.maximum(moments[edges[:-1]], moments[edges[:-1] + 1] - lengths)
    return starts.tolist(), moments[edges[1:]].tolist()


def _cut(bursts: Sequence[Burst], start: float, end: float) -> tuple[Burst, ...]:
    """What lies between two samples."""
    cut = (Burst(max(first, round(start)), min(last, round(end))) for first, last in bursts)
    return tuple(burst for burst in cut if burst.start < burst.end)


def voiced_s(bursts: Sequence[Burst]) -> float:
    """Seconds of voice in bursts."""
    return sum(burst.end - burst.start for burst in bursts) / SAMPLES_PER_SECOND


def bursts_within(segment: Segment, start: float, end: float) -> tuple[tuple[float, float], ...]:
    """The stretches of voice between two moments, cut to them, in seconds."""
    bursts = (
        (max(first / SAMPLES_PER_SECOND, start), min(last / SAMPLES_PER_SECOND, end))
        for first, last in segment.bursts
    )
    return tuple((first, last) for first, last in bursts if first < last)
