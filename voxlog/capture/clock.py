"""The audio's own clock against the machine's: drift, a clock that was set, and the true UTC. Pure.

The number of samples is the master clock. The monotonic clock runs evenly and means no date; the
system's clock has the date and may be set to another time in the middle of a run. Marks that hold
all three make a date of each sample.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from voxlog.capture.block import Block

__all__ = ["AudioClock", "ClockMark", "ClockStep", "MarkTaker", "on_one_clock"]

MARK_SECONDS = 60.0
STEP_SECONDS = 0.05
"""A smaller difference in a minute is the system's clock being steered, and is left alone."""

LEAST_SPAN_SECONDS = 110.0
"""Marks closer together say nothing about drift: blocks arrive some hundredths of a second late."""

NEIGHBOURS = 2
"""Marks on either side that a mark's lateness is smoothed over."""

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class ClockMark:
    """Three clocks at one moment.

    Attributes:
        sample: samples from the start until then, at the source's rate.
        monotonic_ns: the monotonic clock.
        wall_ns: the system's clock, nanoseconds since 1970-01-01T00:00Z.
    """

    sample: int
    monotonic_ns: int
    wall_ns: int


@dataclass(frozen=True, slots=True)
class ClockStep:
    """The system's clock was set between the mark before and `sample`, forward if above 0."""

    sample: int
    seconds: float


class MarkTaker:
    """Takes a mark at the start and each minute from the blocks of a run.

    A block may arrive late and never early, so a minute's mark is its least late block.
    """

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self._due = 0
        self._best: ClockMark | None = None

    def push(self, block: Block) -> ClockMark | None:
        """The mark that is complete with this block, if one is."""
        mark = ClockMark(block.end, block.monotonic_ns, block.wall_ns)
        if self._best is None or self._lateness(mark) <= self._lateness(self._best):
            self._best = mark
        if block.end < self._due:
            return None
        self._due = block.end + round(MARK_SECONDS * self._rate)
        best, self._best = self._best, None
        return best

    def _lateness(self, mark: ClockMark) -> int:
        return mark.monotonic_ns - _nominal_ns(mark.sample, self._rate)


def on_one_clock(lives: Iterable[Sequence[ClockMark]], rate: int) -> list[ClockMark]:
    """The marks of a run that was broken off and taken up again, as if it had been one.

    The monotonic clock of another start of the machine counts from another moment; samples count
    on. lives: the marks between two interruptions, in their order.
    """
    joined: list[ClockMark] = []
    for marks in lives:
        shift_ns = 0
        if joined and marks:
            passed_ns = _nominal_ns(marks[0].sample - joined[-1].sample, rate)
            shift_ns = joined[-1].monotonic_ns + passed_ns - marks[0].monotonic_ns
        joined += [replace(mark, monotonic_ns=mark.monotonic_ns + shift_ns) for mark in marks]
    return joined


class AudioClock:
    """Dates of samples, from the marks of a run so far.

    The system's clock is believed at the first mark and never again: a run has one time scale, from
    which a clock that was set in between does not move it. `steps` says that it was.

    Args:
        rate: samples a second of the source.
        marks: in their order, at least one.
    """

    def __init__(self, rate: int, marks: Sequence[ClockMark]) -> None:
        if not marks:
            raise ValueError("no marks")
        self._rate = rate
        self._start = marks[0]
        self._marks = tuple(marks)
        self._samples = np.array([mark.sample for mark in marks], dtype=np.float64)
        late = np.array([self._lateness_ns(mark) for mark in marks], dtype=np.float64)
        self._drift = _median_slope(self._samples / rate, late) / 1e9
        along = self._samples / rate * self._drift * 1e9
        self._smooth_ns = _running_median(late - along) + along

    @property
    def drift_ppm(self) -> float:
        """How much slower the audio's clock runs than the machine's, in parts per million.

        0 while the marks span less than two minutes. The median of the slopes between all pairs of
        marks (Theil 1950, Sen 1968), which a few late marks do not move.
        """
        return self._drift * 1e6

    @property
    def steps(self) -> tuple[ClockStep, ...]:
        """Where the system's clock was set, by more than 50 ms."""
        found = []
        for before, mark in zip(self._marks, self._marks[1:], strict=False):
            wall_ns, true_ns = (
                mark.wall_ns - before.wall_ns,
                mark.monotonic_ns - before.monotonic_ns,
            )
            seconds = (wall_ns - true_ns) / 1e9
            if abs(seconds) > STEP_SECONDS:
                found.append(ClockStep(mark.sample, seconds))
        return tuple(found)

    def utc_of(self, sample: int) -> datetime:
        """When a sample was taken, drift and steps taken out; microseconds, not all of them true.

        Samples before the first mark and after the last go by the drift found so far.
        """
        nearest = float(np.clip(sample, self._samples[0], self._samples[-1]))
        late_ns = float(np.interp(nearest, self._samples, self._smooth_ns))
        late_ns += (sample - nearest) / self._rate * self._drift * 1e9
        start_ns = self._start.wall_ns + _nominal_ns(sample - self._start.sample, self._rate)
        return EPOCH + timedelta(microseconds=round((start_ns + late_ns) / 1000))

    def _lateness_ns(self, mark: ClockMark) -> int:
        """How much longer the machine's clock says it was since the first mark than the audio's."""
        since_ns = mark.monotonic_ns - self._start.monotonic_ns
        return since_ns - _nominal_ns(mark.sample - self._start.sample, self._rate)


def _nominal_ns(samples: int, rate: int) -> int:
    return samples * 1_000_000_000 // rate


def _median_slope(seconds: np.ndarray, late_ns: np.ndarray) -> float:
    """Nanoseconds a second; 0 where no two marks are far enough apart."""
    one, other = np.triu_indices(len(seconds), 1)
    span = seconds[other] - seconds[one]
    far = span >= LEAST_SPAN_SECONDS
    if not far.any():
        return 0.0
    return float(np.median((late_ns[other] - late_ns[one])[far] / span[far]))


def _running_median(values: np.ndarray) -> np.ndarray:
    parts = [values[max(0, i - NEIGHBOURS) : i + NEIGHBOURS + 1] for i in range(len(values))]
    return np.array([np.median(part) for part in parts])
