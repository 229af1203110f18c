"""Which charts there are, and what their points are."""

from typing import Any

import numpy as np
import pytest

from tests.audit.table import rows
from voxlog.audit.trend import strongest, trend_table, trends


def months(counts: list[int], size: int, first: int = 2025 * 12, **more: Any) -> list[Any]:
    """A row of a run each; so many of each month's are skipped. None: nothing that month."""
    return [
        {
            "run": f"{more.get('item', '1')}-{month}-{n}",
            "start": f"{(first + month) // 12}-{(first + month) % 12 + 1:02}-15T08:00Z",
            "status": "skipped" if n < count else "confirmed",
            **more,
        }
        for month, count in enumerate(counts)
        for n in range(0 if count < 0 else size)
    ]


@pytest.mark.parametrize(
    ("counts", "size", "period", "names", "points"),
    [
        # Five expected a month are enough.
        ([5] * 6, 20, "month", ("2025-01", "2025-06"), [5] * 6),
        # Two a month make six a quarter; the first and the last quarter are those of the calendar.
        ([2] * 18, 20, "quarter", ("2025-01", "2026-04"), [6] * 6),
        # A month without runs has its place.
        ([5, 5, 5, -1, 5, 5, 5], 20, "month", ("2025-01", "2025-07"), [5, 5, 5, 0, 5, 5, 5]),
    ],
)
def test_the_shortest_period_with_enough_events(
    counts: list[int], size: int, period: str, names: tuple[str, str], points: list[int]
) -> None:
    found = [trend for trend in trends(rows(*months(counts, size))) if trend.item == "1"]
    [skipped] = [trend for trend in found if trend.measure == "skipped"]
    assert skipped.period == period
    assert (skipped.names[0], skipped.names[-1]) == names
    assert list(skipped.counts) == points
    assert list(skipped.sizes) == list(skipped.runs)


@pytest.mark.parametrize(
    ("counts", "size"),
    [
        ([5] * 5, 20),  # five points
        ([1] * 12, 20),  # twelve a year, but two years only
        ([0] * 24, 20),  # nothing ever happens
    ],
)
def test_too_few_make_no_chart(counts: list[int], size: int) -> None:
    assert not [t for t in trends(rows(*months(counts, size))) if t.measure == "skipped"]


def test_periods_are_those_of_the_calendar() -> None:
    """Quarters begin in January, whenever the first run was."""
    found = trends(rows(*months([2] * 18, 20, first=2025 * 12 + 4)))
    assert found[0].names[:2] == ("2025-04", "2025-07")
    assert list(found[0].counts[:2]) == [4, 6]


def test_runs_without_a_start_have_no_place_in_time() -> None:
    given = months([5] * 6, 20)
    lost = [{**row, "run": f"lost-{n}", "start": None} for n, row in enumerate(given)]
    [chart] = [t for t in trends(rows(*given, *lost)) if not t.item and t.measure == "skipped"]
    assert chart.sizes.sum() == len(given)
    assert trends(rows(*lost)) == []


def test_over_all_items_rows_of_one_run_widen_the_limits() -> None:
    """Two items that are always wrong together: the limits are those of half as many rows."""
    one = months([5] * 12, 20)
    both = [{**row, "item": item} for row in one for item in ("1", "2")]
    of_all = next(trend for trend in trends(rows(*both)) if not trend.item)
    of_one = next(trend for trend in trends(rows(*both)) if trend.item == "1")
    assert of_all.chart.upper == pytest.approx(of_one.chart.upper, rel=0.01)


def test_a_month_out_of_line_is_the_strongest_signal() -> None:
    steady = months([10, 11, 9, 10, 12, 10, 9, 10, 11, 9], 100, item="1")
    sudden = months([10, 11, 9, 10, 35, 10, 9, 10, 11, 9], 100, item="2")
    found = trends(rows(*steady, *sudden))
    signals = [trend for trend in strongest(found) if trend.item]
    assert [trend.item for trend in signals] == ["2"]
    assert list(np.flatnonzero(signals[0].chart.beyond)) == [4]
    table = trend_table(found)
    out = table[(table["item"] == "2") & table["beyond"]]
    assert list(out["from"]) == ["2025-05"]
    assert list(out["count"]) == [35]
