"""A phrase with a pause in it: two neighbouring segments that are heard again as one.

A speaker who looks at a dial stops within "pulse one hundred ... and twenty six". The segmenter
parts it there, because answers come as quickly; and "pulse one hundred" alone is a clear phrase
with a wrong number. So where a segment leaves its neighbour without meaning, both are heard as one,
and the better account of the two stretches counts.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.speech.utterance import Utterance

__all__ = ["LONGEST_PAUSE", "Answered", "Listened", "as_one", "may_be_one", "rejoined"]

Floats = NDArray[np.float32]

LONGEST_PAUSE = RATE * 45 // 100
"""Samples of silence that a phrase may hold where it is not a countdown."""
LONGEST = RATE * 6
"""Samples that two segments may have together: no phrase of a sheet is longer."""
UNEXPLAINED, DOUBTFUL = 0.5, 2.0
"""Evidence in nats under which a segment says nothing by itself, and under which it may be half of
a phrase: "saturation", which is then any number, before "seven one percent"."""
RECENT = 32
"""Segments that are remembered, for what was just asked."""


class Listened(NamedTuple):
    """A segment, its samples, and the utterances it was heard as."""

    segment: Segment
    audio: Floats
    utterances: tuple[Utterance, ...]

    @property
    def evidence(self) -> float:
        """How well the sheet's phrases account for the segment, in nats; 0 where none does.

        Each utterance of a segment carries the evidence of the whole reading.
        """
        heard = self.utterances[0].heard if self.utterances else ()
        return max(0.0, heard[0].evidence) if heard else 0.0

    @property
    def words(self) -> tuple[str, ...]:
        """The phrases that it was heard as, first to last."""
        best = (one.heard[0] for one in self.utterances if one.heard)
        return tuple(one.sayable.text for one in best if one.evidence > 0)


Answered = Callable[[Listened, Sequence[Listened]], Listened]
"""Hears a segment for an answer to what was asked in those before it, too."""


def rejoined(
    listened: Iterable[Listened],
    again: Callable[[Segment, Floats], tuple[Utterance, ...]],
    answered: Answered,
) -> Iterator[Listened]:
    """The same in its order, with two segments made one where that accounts better for both.

    again: recognises a segment. answered: hears each for what was just asked, before that. A
    segment is held back until the next one of its channel is there.
    """
    held: dict[int, Listened] = {}
    recent: list[Listened] = []
    for one in listened:
        after = answered(one, recent)
        before = held.pop(one.segment.channel, None)
        both = as_one(before, after, again) if before else None
        if both:
            recent = [known for known in recent if known is not before]
        elif before:
            yield before
        held[one.segment.channel] = both or after
        recent = [*recent, both or after][-RECENT:]
    yield from sorted(held.values(), key=lambda one: one.segment.start)


def as_one(
    before: Listened, after: Listened, again: Callable[[Segment, Floats], tuple[Utterance, ...]]
) -> Listened | None:
    """Both as one segment, if they may be a phrase and are a better one than each alone.

    What is only one of the two phrases again, stretched over both, leaves the other unexplained.
    Two that mean something by themselves are halves of one phrase, or stay what they are.
    """
    if not may_be_one(before, after):
        return None
    segment = Segment(
        before.segment.channel,
        before.segment.start,
        after.segment.end,
        (*before.segment.bursts, *after.segment.bursts),
    )
    audio = _spliced(before, after)
    both = Listened(segment, audio, again(segment, audio))
    is_new = both.words not in (before.words, after.words)
    may_be_two = min(before.evidence, after.evidence) < UNEXPLAINED
    may_be = is_new and (may_be_two or len(both.words) <= 1)
    return both if may_be and both.evidence > before.evidence + after.evidence else None


def may_be_one(before: Listened, after: Listened) -> bool:
    """Whether two neighbours on a channel are to be heard again as one."""
    pause = after.segment.bursts[0][0] - before.segment.bursts[-1][1]
    length = after.segment.end - before.segment.start
    is_doubtful = min(before.evidence, after.evidence) < DOUBTFUL
    return pause <= LONGEST_PAUSE and length <= LONGEST and is_doubtful


def _spliced(before: Listened, after: Listened) -> Floats:
    """The samples of both, silent in between where neither has any."""
    joined = np.zeros(after.segment.end - before.segment.start, np.float32)
    joined[: len(before.audio)] = before.audio
    joined[len(joined) - len(after.audio) :] = after.audio
    return joined
