"""Bursts of voice -> segments: what the recogniser hears at once. Pure; integer samples only.

The rule: bursts with a short gap are one utterance; a counting chain ("three ... two ... one ...
now") is one although its gaps are long, because its words mean nothing apart; nothing is longer
than the recogniser's window.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from voxlog.audio import RATE
from voxlog.audio.burst import Burst

__all__ = ["JoinRules", "Joiner", "Segment", "join_bursts", "moved"]


@dataclass(frozen=True)
class Segment:
    """A stretch of speech on one channel.

    Attributes:
        channel: from 0, in the order of the recording.
        start: first sample at 16 kHz, padding included.
        end: first sample after it.
        bursts: the voice inside, in order: (first sample, first sample after).
    """

    channel: int
    start: int
    end: int
    bursts: tuple[Burst, ...]


def moved(segment: Segment, samples: int) -> Segment:
    """The same so many samples later."""
    bursts = tuple(Burst(start + samples, end + samples) for start, end in segment.bursts)
    return Segment(segment.channel, segment.start + samples, segment.end + samples, bursts)


@dataclass(frozen=True)
class JoinRules:
    """How bursts become segments. All but `chain_length` in samples.

    Attributes:
        gap: bursts closer than this join (0.20 s).
        chain_burst: in a counting chain every piece is shorter than this (0.75 s),
        chain_gap: with less than this between two (0.9 s),
        chain_length: and there are at least so many.
        limit: no segment is longer, padding included (14 s).
        lead: sound kept before, where no neighbour needs it (0.25 s): the voice model finds soft
            first consonants late, by 0.2 s at times (with 0.10 s "pulse" was "all": 319 of 353
            phrases right at 5 dB, 328 with this, 328 with 0.35 s and further from the rest; fit
            scenarios),
        tail: and after (0.10 s).
    """

    gap: int = RATE * 20 // 100
    chain_burst: int = RATE * 75 // 100
    chain_gap: int = RATE * 9 // 10
    chain_length: int = 3
    limit: int = RATE * 14
    lead: int = RATE * 25 // 100
    tail: int = RATE * 10 // 100

    def __post_init__(self) -> None:
        """Raises ValueError for rules under which tails could reach voice or no voice would fit."""
        if not self.tail <= self.gap <= self.chain_gap:
            raise ValueError("tail <= gap <= chain_gap must hold")
        if not 0 < self.chain_burst <= self.longest_voice:
            raise ValueError("0 < chain_burst <= limit - lead - tail must hold")

    @property
    def longest_voice(self) -> int:
        """What is left of `limit` without lead and tail."""
        return self.limit - self.lead - self.tail


class _Run(NamedTuple):
    """Bursts with short gaps between them."""

    bursts: tuple[Burst, ...]

    @property
    def start(self) -> int:
        return self.bursts[0].start

    @property
    def end(self) -> int:
        return self.bursts[-1].end


class Joiner:
    """Joins the bursts of one channel as they come.

    A segment is returned as soon as nothing later can change it: that is when the next burst is far
    enough away, or when `settle` says that no burst will come before a certain sample.
    """

    def __init__(self, channel: int = 0, rules: JoinRules = JoinRules()) -> None:
        self._channel = channel
        self._rules = rules
        self._chain: list[_Run] = []
        self._run: _Run | None = None
        self._taken_until = 0
        self._ready: list[Segment] = []

    @property
    def pending_from(self) -> int | None:
        """Where the next segment starts, padding included; None while nothing is held."""
        first = self._chain[0] if self._chain else self._run
        return None if first is None else self._padded_start(first)

    def pending(self) -> tuple[Segment, ...]:
        """What is over and would be returned if nothing followed, oldest first.

        A count may yet join these segments to one, so that they are not ready; but they can be
        listened to, so that an answer need not wait for a count that does not come.
        """
        is_count = len(self._chain) >= self._rules.chain_length
        found: list[Segment] = []
        taken_until = self._taken_until
        for run in [_joined(self._chain)] if is_count else self._chain:
            start = max(run.start - self._rules.lead, taken_until)
            taken_until = run.end + self._rules.tail
            found.append(Segment(self._channel, start, taken_until, run.bursts))
        return tuple(found)

    def perhaps_over(self, known_until: int) -> Segment | None:
        """What is being said, as the segment that it is if nothing follows; None while it goes on.

        No burst begins before sample `known_until`; all that the segment has is there by then.
        """
        if self._run is None or known_until < self._run.end + self._rules.tail:
            return None
        ahead = Joiner(self._channel, self._rules)
        ahead._chain, ahead._run = [*self._chain], self._run
        ahead._taken_until = self._taken_until
        ahead._close_run()
        return [*ahead._ready, *ahead.pending()][-1]

    def push(self, burst: Burst) -> list[Segment]:
        """Takes the next burst, which begins where or after the last one ended."""
        self._leave_gap_before(burst.start)
        run = self._run.bursts if self._run else ()
        if run and run[-1].end == burst.start:
            run, burst = run[:-1], Burst(run[-1].start, burst.end)
        self._run = _Run((*run, burst))
        self._cut_long_run()
        return self._take_ready()

    def settle(self, known_until: int) -> list[Segment]:
        """Takes notice that no further burst begins before this sample."""
        self._leave_gap_before(known_until)
        return self._take_ready()

    def finish(self, samples: int | None = None) -> list[Segment]:
        """Returns what is held; `samples` is the length of the recording, where padding stops."""
        self._close_run()
        self._close_chain()
        return [
            Segment(last.channel, last.start, min(last.end, samples), last.bursts)
            if samples is not None
            else last
            for last in self._take_ready()
        ]

    def _leave_gap_before(self, start: int) -> None:
        last = self._run or (self._chain[-1] if self._chain else None)
        gap = start - last.end if last else 0
        if gap >= self._rules.gap:
            self._close_run()
        if gap >= self._rules.chain_gap:
            self._close_chain()

    def _close_run(self) -> None:
        """A short run may be a link of a chain; a long one ends the chain before it."""
        run, self._run = self._run, None
        if run is None:
            return
        if run.end - run.start < self._rules.chain_burst:
            self._chain.append(run)
            self._cut_long_chain()
        else:
            self._close_chain()
            self._emit(run)

    def _close_chain(self) -> None:
        chain, self._chain = self._chain, []
        if len(chain) >= self._rules.chain_length:
            self._emit(_joined(chain))
        else:
            for run in chain:
                self._emit(run)

    def _cut_long_run(self) -> None:
        while self._run and self._run.end - self._run.start > self._rules.longest_voice:
            self._close_chain()
            place = _widest_gap(self._run.bursts, self._run.start + self._rules.longest_voice)
            left, right = _cut(self._run, place, self._rules.longest_voice)
            self._emit(left, before=right.start)
            self._run = right

    def _cut_long_chain(self) -> None:
        while self._chain[-1].end - self._chain[0].start > self._rules.longest_voice:
            place = _widest_gap(self._chain, self._chain[0].start + self._rules.longest_voice)
            left, self._chain = self._chain[:place], self._chain[place:]
            self._emit(_joined(left), before=self._chain[0].start)

    def _emit(self, run: _Run, before: int | None = None) -> None:
        """Pads a run; where it was cut off from what begins at `before`, the gap is shared."""
        end = run.end + self._rules.tail
        if before is not None:
            end = min(end, (run.end + before + 1) // 2)
        self._ready.append(Segment(self._channel, self._padded_start(run), end, run.bursts))
        self._taken_until = end

    def _padded_start(self, run: _Run) -> int:
        return max(run.start - self._rules.lead, self._taken_until)

    def _take_ready(self) -> list[Segment]:
        ready, self._ready = self._ready, []
        return ready


def join_bursts(
    bursts: Iterable[Burst | tuple[int, int]],
    rules: JoinRules = JoinRules(),
    channel: int = 0,
    samples: int | None = None,
) -> tuple[Segment, ...]:
    """All segments of one channel's bursts, which are in order and do not overlap.

    Args:
        bursts: (first sample, first sample after) each.
        rules: when to join and where to cut.
        channel: put into the segments.
        samples: length of the recording, beyond which no padding goes; None where it goes on.
    """
    joiner = Joiner(channel, rules)
    segments = [segment for burst in bursts for segment in joiner.push(Burst(*burst))]
    return (*segments, *joiner.finish(samples))


def _joined(runs: Sequence[_Run]) -> _Run:
    return _Run(tuple(burst for run in runs for burst in run.bursts))


def _widest_gap(pieces: Sequence[Burst | _Run], end: int) -> int:
    """Number of pieces before the widest gap that begins by `end` (the later of equals), or 0."""
    gaps = [
        (right.start - left.end, number)
        for number, (left, right) in enumerate(pairwise(pieces), start=1)
        if left.end <= end
    ]
    return max(gaps)[1] if gaps else 0


def _cut(run: _Run, place: int, longest: int) -> tuple[_Run, _Run]:
    """The run parted after `place` bursts or, if 0, inside its first burst, which is too long."""
    if place:
        return _Run(run.bursts[:place]), _Run(run.bursts[place:])
    first = run.bursts[0]
    middle = first.start + longest
    left, right = Burst(first.start, middle), Burst(middle, first.end)
    return _Run((left,)), _Run((right, *run.bursts[1:]))
