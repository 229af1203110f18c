"""How sure the log is of its rows: how p is spread, and what it adds up to."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from voxlog.follow.event import Event
from voxlog.log.finding import findings_of

__all__ = ["Bin", "Certainty", "certainty_of"]

EDGES = (0.0, 0.5, 0.7, 0.9, 0.97, 0.99, 1.0)
"""Narrow towards 1, where most rows are."""
LEAST_SURE = 8


@dataclass(frozen=True, slots=True)
class Bin:
    """Rows with low <= p < high (p <= high in the last bin). flagged: those of them that are
    findings of any kind, so that somebody will listen to them anyway.
    """

    low: float
    high: float
    rows: int
    flagged: int


@dataclass(frozen=True, slots=True)
class Certainty:
    """bins: from sure to unsure. rows: those counted, without notes. uncertain: those flagged so.
    expected_wrong: the sum of 1 - p, which is how many rows are wrong if each p is right.
    least_sure: rows (by n) without a finding and with the lowest p below 0.97, lowest first.
    """

    bins: tuple[Bin, ...]
    rows: int
    notes: int
    uncertain: int
    expected_wrong: float
    least_sure: tuple[int, ...]


def certainty_of(events: Sequence[Event]) -> Certainty:
    """Notes are left out: their p says how surely the words are none of the sheet's."""
    rows = [(n, event) for n, event in enumerate(events, 1) if event.kind != "note"]
    bins = [_bin(low, high, [event for _, event in rows]) for low, high in pairwise(EDGES)]
    quiet = [(event.p, n) for n, event in rows if event.p < 0.97 and not findings_of(event)]
    return Certainty(
        bins=tuple(reversed(bins)),
        rows=len(rows),
        notes=len(events) - len(rows),
        uncertain=sum("uncertain" in event.flags for _, event in rows),
        expected_wrong=sum(1 - event.p for _, event in rows),
        least_sure=tuple(n for _, n in sorted(quiet)[:LEAST_SURE]),
    )


def _bin(low: float, high: float, events: Sequence[Event]) -> Bin:
    inside = [one for one in events if low <= one.p and (one.p < high or high == one.p == 1)]
    return Bin(low, high, len(inside), sum(bool(findings_of(one)) for one in inside))
