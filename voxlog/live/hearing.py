"""Recognise speech while a run goes: each stretch at once, and again when more of it is known.

A short answer is listened to as soon as it is over, although it may yet prove to be a part of a
countdown; a phrase with a pause in it is heard in halves first; and what a quick search makes of
unclear speech is told before the long search. What was told before is then replaced. At the end of
a run all is as it would be for a finished recording. What is not sure to be over is listened to
ahead, and told when it is.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.audio.segment import Segment
from voxlog.speech.rejoin import Answered, Listened, as_one
from voxlog.speech.utterance import Utterance

__all__ = ["Attempts", "Hearing", "News"]

Floats = NDArray[np.float32]
Attempts = Callable[[Segment, Floats], Iterable[tuple[Utterance, ...]]]
"""Turns a segment and its samples into utterances, better ones each time; the last ones hold."""

KEPT = 8
"""Segments a channel that may still be replaced: a count, and what came before it."""


class News(NamedTuple):
    """What was heard, and which of what was heard before it replaces."""

    heard: tuple[Utterance, ...] = ()
    instead_of: tuple[Utterance, ...] = ()


class _Begun(NamedTuple):
    """A segment that was listened to before it was sure to be one: the first attempt, and more."""

    segment: Segment
    first: tuple[Utterance, ...]
    others: Iterator[tuple[Utterance, ...]]


class Hearing:
    """What was heard so far, channel by channel."""

    def __init__(self, attempts: Attempts, answered: Answered) -> None:
        self._attempts = attempts
        self._answered = answered
        self._parts: dict[int, list[tuple[Segment, ...]]] = {}
        self._last: dict[int, list[Listened]] = {}
        self._begun: dict[int, _Begun] = {}

    def is_known(self, segment: Segment) -> bool:
        """Whether this very segment was listened to, alone or as part of another."""
        return any(segment in parts for parts in self._parts.get(segment.channel, ()))

    def begin(self, segment: Segment, audio: Floats) -> None:
        """Make the first attempt at what is a segment if silence follows, to tell it then."""
        begun = self._begun.get(segment.channel)
        if self.is_known(segment) or (begun is not None and begun.segment == segment):
            return
        others = iter(self._attempts(segment, audio))
        self._begun[segment.channel] = _Begun(segment, next(others), others)

    def hear(self, segment: Segment, audio: Floats) -> Iterator[News]:
        """Listen to a segment that is not known; segments of a channel come in their order.

        The first news come as soon as there are any; what they tell, later ones may replace. Last
        it is heard for an answer to what was just asked, and together with what came before it.
        """
        last = self._last.setdefault(segment.channel, [])
        parts = self._parts.setdefault(segment.channel, [])
        told = self._drop_parts(segment, last, parts)
        heard: tuple[Utterance, ...] = ()
        for heard in self._all_attempts(segment, audio):
            if heard != told:
                yield News(heard, told)
            told = heard
        recent = [known for channel in self._last.values() for known in channel]
        one = self._answered(Listened(segment, audio, heard), recent)
        if one.utterances != told:
            yield News(one.utterances, told)
            told = one.utterances
        of_one: tuple[Segment, ...] = (segment,)
        both = as_one(last[-1], one, self._again) if last else None
        if both is not None:
            yield News(both.utterances, last.pop().utterances + told)
            one, of_one = both, (*parts.pop(), segment)
        last.append(one)
        parts.append(of_one)
        del last[:-KEPT], parts[:-KEPT]

    def _all_attempts(self, segment: Segment, audio: Floats) -> Iterator[tuple[Utterance, ...]]:
        """All attempts; the first may have been made."""
        begun = self._begun.pop(segment.channel, None)
        if begun is not None and begun.segment == segment:
            yield begun.first
            yield from begun.others
        else:
            yield from self._attempts(segment, audio)

    def _again(self, segment: Segment, audio: Floats) -> tuple[Utterance, ...]:
        *_, heard = self._attempts(segment, audio)
        return heard

    def _drop_parts(
        self, segment: Segment, last: list[Listened], parts: list[tuple[Segment, ...]]
    ) -> tuple[Utterance, ...]:
        """Forget what is a part of this segment; what was heard of it."""
        replaced: tuple[Utterance, ...] = ()
        while last and set(last[-1].segment.bursts) & set(segment.bursts):
            replaced = last.pop().utterances + replaced
            parts.pop()
        return replaced
