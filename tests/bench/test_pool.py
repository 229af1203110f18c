"""Figures of several runs are those of all their rows together, not a mean of means."""

from tests.bench.pool import pool
from voxlog.follow.event import Event, Status
from voxlog.score.tally import Ratio, Tally

FINE: Status = "confirmed"


def items(*statuses: Status, start: float = 0.0) -> list[Event]:
    return [
        Event(start + n, start + n + 1, "item", item=str(n), status=status)
        for n, status in enumerate(statuses)
    ]


def test_counts_are_added_before_they_are_divided() -> None:
    one = items("confirmed"), items("negative")
    other = items(FINE, FINE, FINE, start=0.25), items(FINE, FINE, FINE)
    both = pool([one, other])
    assert both.item_status == Ratio(3, 4)
    assert both.findings == Tally(hits=0, false=0, missed=1)
    assert both.tallies()["negative"] == both.tallies()["item"] == Tally(missed=1)
    assert both.time_error.count == 4
    assert both.time_error.median_s == 0.25


def test_false_findings_are_counted_in_60_items() -> None:
    logged = items("negative", "confirmed", "confirmed"), items(FINE, FINE, FINE)
    both = pool([logged, logged])
    assert both.in_60_items(both.findings.false) == 20
