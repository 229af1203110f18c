"""Rates over time: a control chart for each measure, over all and for each item.

A chart's points are months, or quarters, half-years or years where a month would have too few: the
shortest period in which EXPECTED events or more are expected in the median period (the usual
condition for binomial limits, as in Montgomery, Introduction to Statistical Quality Control, on the
p-chart), with at least POINTS of them. Otherwise there is no chart: limits on so few are noise.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

from voxlog.audit.control_chart import ControlChart, p_chart
from voxlog.audit.distinct import distinct_counts
from voxlog.audit.interval import design_effects
from voxlog.audit.rows import MEASURES, items_of, natural_key

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

__all__ = ["EXPECTED", "POINTS", "Trend", "strongest", "trend_table", "trends"]

EXPECTED: Final = 5.0
POINTS: Final = 6
_COLUMNS: Final = (
    *("sheet", "item", "measure", "period", "from", "runs", "n", "count", "rate", "centre"),
    *("lower", "upper", "beyond", "run", "overdispersion"),
)
_PERIODS: Final = (("month", 1), ("quarter", 3), ("half-year", 6), ("year", 12))


class Trend(NamedTuple):
    """A chart with what it is of. sheet and item are "" for the chart over all items.

    period: month, quarter, half-year or year. names: of the points, by their first month.
    """

    sheet: str
    item: str
    measure: str
    period: str
    names: tuple[str, ...]
    counts: "NDArray[np.int64]"
    sizes: "NDArray[np.int64]"
    runs: "NDArray[np.int64]"
    chart: ControlChart


def trends(rows: "pd.DataFrame") -> list[Trend]:
    """Every chart that the rows carry, over all first, then by item. Rows without a start have no
    place in time and are left out.
    """
    items = items_of(rows)
    items = items[items["month"].notna()]
    if items.empty:
        return []
    found: list[Trend] = []
    for measure in MEASURES:
        among = items[items[measure.among]] if measure.among else items
        if trend := _trend("", "", measure.name, among):
            found.append(trend)
    for measure in MEASURES:
        among = items[items[measure.among]] if measure.among else items
        found += _by_item(measure.name, among)
    return found


def trend_table(found: Sequence[Trend]) -> "pd.DataFrame":
    """One row a point of every chart."""
    import pandas as pd

    parts = [
        pd.DataFrame(
            {
                "sheet": trend.sheet,
                "item": trend.item,
                "measure": trend.measure,
                "period": trend.period,
                "from": trend.names,
                "runs": trend.runs,
                "n": trend.sizes,
                "count": trend.counts,
                "rate": trend.chart.rate,
                "centre": trend.chart.centre,
                "lower": trend.chart.lower,
                "upper": trend.chart.upper,
                "beyond": trend.chart.beyond,
                "run": trend.chart.run,
                "overdispersion": trend.chart.overdispersion,
            }
        )
        for trend in found
    ]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=list(_COLUMNS))


def strongest(found: Sequence[Trend]) -> list[Trend]:
    """Those with a signal: the most points with one first, then the point furthest out."""
    import numpy as np

    def strength(trend: Trend) -> tuple[int, float]:
        chart = trend.chart
        signals = int((chart.beyond | chart.run).sum())
        return -signals, -float(np.nanmax(np.abs(chart.z)))

    return sorted((trend for trend in found if trend.chart.has_signal), key=strength)


class _Months(NamedTuple):
    """Counts by month from the first to the last, months without runs included.

    first: the number of the first month, years times twelve and the months before it.
    """

    first: int
    counts: "NDArray[np.int64]"
    sizes: "NDArray[np.int64]"
    runs: "NDArray[np.int64]"


def _trend(sheet: str, item: str, measure: str, rows: "pd.DataFrame") -> Trend | None:
    import numpy as np

    if rows.empty:
        return None
    months = _month_numbers(rows)
    first = int(months.min())
    place = months - first
    hit = rows[measure].to_numpy(dtype=bool)
    runs = rows["run"].cat.codes.to_numpy()
    length = int(place.max()) + 1
    of_month = _Months(
        first,
        np.bincount(place, weights=hit, minlength=length).astype(np.int64),
        np.bincount(place, minlength=length),
        distinct_counts(place, runs, length),
    )
    [effect] = design_effects(np.zeros(len(rows), dtype=np.intp), runs, hit, 1)
    return _charted(sheet, item, measure, of_month, float(effect))


def _by_item(measure: str, rows: "pd.DataFrame") -> list[Trend]:
    """The charts of all items at once: one pass over the rows, then small sums."""
    import numpy as np

    if rows.empty:
        return []
    keys = ["sheet", "item"]
    number = rows.groupby(keys, observed=True, sort=False).ngroup().to_numpy()
    names = rows.loc[~rows.duplicated(keys), keys].astype(str).to_numpy()
    months = _month_numbers(rows)
    first = int(months.min())
    width = int(months.max()) - first + 1
    cell = number.astype(np.int64) * width + (months - first)
    hit = rows[measure].to_numpy(dtype=bool)
    runs = rows["run"].cat.codes.to_numpy()
    shape = (len(names), width)
    size = len(names) * width
    counts = np.bincount(cell, weights=hit, minlength=size).astype(np.int64).reshape(shape)
    sizes = np.bincount(cell, minlength=size).reshape(shape)
    in_runs = distinct_counts(cell, runs, size).reshape(shape)
    effects = design_effects(number, runs, hit, len(names))
    order = sorted(range(len(names)), key=lambda n: (names[n][0], natural_key(names[n][1])))
    made = (
        _charted(
            names[n][0],
            names[n][1],
            measure,
            _Months(first, counts[n], sizes[n], in_runs[n]),
            float(effects[n]),
        )
        for n in order
    )
    return [trend for trend in made if trend is not None]


def _charted(
    sheet: str, item: str, measure: str, months: _Months, design_effect: float
) -> Trend | None:
    import numpy as np

    total = months.sizes.sum()
    if total == 0:
        return None
    rate = months.counts.sum() / total
    for period, length in _PERIODS:
        # Periods are those of the calendar, so the first and the last may not be whole.
        place = (months.first + np.arange(len(months.sizes))) // length
        place -= place[0]
        sizes, counts, runs = (
            np.bincount(place, weights=part).astype(np.int64)
            for part in (months.sizes, months.counts, months.runs)
        )
        filled = sizes[sizes > 0]
        if len(filled) < POINTS:
            return None
        if np.median(filled) * rate >= EXPECTED:
            start = months.first // length * length
            names = tuple(_month_name(start + n * length) for n in range(len(sizes)))
            chart = p_chart(counts, sizes, design_effect)
            return Trend(sheet, item, measure, period, names, counts, sizes, runs, chart)
    return None


def _month_numbers(rows: "pd.DataFrame") -> "NDArray[np.int64]":
    import numpy as np

    names = rows["month"].cat.categories
    numbers = np.array([int(name[:4]) * 12 + int(name[5:]) - 1 for name in names], dtype=np.int64)
    return numbers[rows["month"].cat.codes.to_numpy()]


def _month_name(number: int) -> str:
    return f"{number // 12:04}-{number % 12 + 1:02}"
