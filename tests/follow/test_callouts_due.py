"""Levels that nobody called, and when that showed."""

import pytest

from tests.follow.cases import FLIGHT
from voxlog.follow.callouts_due import missed_levels
from voxlog.follow.event import Event


def called(*levels: tuple[float, float], phase: str = "ascent") -> list[Event]:
    return [
        Event(start, start + 1, "callout", phase, "climb", value=level) for level, start in levels
    ]


@pytest.mark.parametrize(
    ("heard", "phases", "expected"),
    [
        ([(5000, 10), (10000, 20), (15000, 30)], {"ascent": 1, "plateau": 40}, {}),
        # Between others: at the next level. Last: at the next phase, or at the end.
        ([(5000, 10), (15000, 30)], {"ascent": 1, "plateau": 40}, {10000: 30}),
        ([(10000, 20), (15000, 30)], {"ascent": 1, "plateau": 40}, {5000: 20}),
        ([(5000, 10), (10000, 20)], {"ascent": 1, "plateau": 40}, {15000: 40}),
        ([(5000, 10), (10000, 20)], {"ascent": 1}, {15000: 99}),
        ([], {"ascent": 1, "plateau": 40}, {5000: 40, 10000: 40, 15000: 40}),
        # The phase itself was not heard, but a later one was; none was.
        ([], {"plateau": 40}, {5000: 40, 10000: 40, 15000: 40}),
        ([], {}, {}),
        # Another value than those of the series counts for none of them.
        ([(5000, 10), (11000, 21), (15000, 30)], {"ascent": 1}, {10000: 30}),
    ],
)
def test_missed_levels(
    heard: list[tuple[float, float]], phases: dict[str, float], expected: dict[float, float]
) -> None:
    rows = missed_levels(FLIGHT.sheet, called(*heard), phases, end=99.0)
    assert {row.value: row.start for row in rows} == expected
    for row in rows:
        assert (row.kind, row.item, row.phase, row.status) == (
            "callout",
            "climb",
            "ascent",
            "skipped",
        )
        assert (row.end, row.unit, row.heard) == (row.start, "ft", "")


def test_a_level_called_in_another_phase_does_not_count() -> None:
    rows = missed_levels(FLIGHT.sheet, called((5000, 10), phase="plateau"), {"ascent": 1}, 99.0)
    assert [row.value for row in rows] == [5000, 10000, 15000]
