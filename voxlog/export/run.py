"""What every format is made from: the rows of one run on one clock. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from voxlog.follow.event import Event

__all__ = ["ExportRun", "Row", "Written"]


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the log. start_ms, end_ms: on the run's clock; may be negative. n: its number.

    review: how far its review has come: agreed, disputed, deferred or open; "" where there is
    nothing to decide.
    """

    n: int
    start_ms: int
    end_ms: int
    event: Event
    review: str = ""


@dataclass(frozen=True, slots=True)
class ExportRun:
    """A run as it is exported.

    name: of the run folder. sheet, title: id and title of the run sheet. program: what made it.
    review: of the whole run, in words: "not reviewed", "review not finished", "reviewed", and
    whether the rows are as logged or as reviewed.
    start: the moment of time 0, with its zone; None when nobody knows it. drift_ppb: by how much
    the clock of the rows runs slow, in thousand millionths.
    """

    name: str
    sheet: str
    title: str
    program: str
    review: str
    rows: tuple[Row, ...]
    start: datetime | None = None
    drift_ppb: int = 0

    def moment(self, ms: int) -> datetime | None:
        """The moment of a time on the run's clock, in UTC, to the millisecond (half up)."""
        if self.start is None:
            return None
        drift_us = (ms * self.drift_ppb + 500_000) // 1_000_000
        moment = self.start.astimezone(UTC) + timedelta(microseconds=ms * 1000 + drift_us + 500)
        return moment.replace(microsecond=moment.microsecond // 1000 * 1000)


@dataclass(frozen=True, slots=True)
class Written:
    """A format's bytes. beside: further files by their suffix. notes: what could not be carried."""

    data: bytes
    beside: Mapping[str, bytes] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
