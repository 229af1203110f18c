"""Readings and answers with a value that drift toward a limit of their sheet.

The slope is that of Theil and Sen (Sen 1968, JASA 63(324), 1379-1389): the median of the slopes of
all pairs of points, with his interval; single wild values hardly move it. Whether there is a drift
at all is Kendall's test of the same pairs, adjusted over all readings to the false discovery rate
of Benjamini and Hochberg (1995, JRSS B 57(1), 289-300).

Where there are more than BLOCKS values, neighbours in time are taken together in BLOCKS blocks of
equal number, each with its median value and its median time: all pairs of 10,000 values would be
fifty million.
"""

from typing import TYPE_CHECKING, Any, Final, NamedTuple

from voxlog.audit.interval import LEVEL
from voxlog.audit.rows import natural_key

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

__all__ = [
    "BLOCKS",
    "FEWEST",
    "DriftLine",
    "Slope",
    "blocks",
    "drift_lines",
    "drifts",
    "slope_of",
]

BLOCKS: Final = 300
FEWEST: Final = 10
"""Values under which no slope is worth showing; our own choice."""
DISCOVERIES: Final = 0.05
_POINTS_DRAWN: Final = 40
_DAYS_A_YEAR: Final = 365.25


class Slope(NamedTuple):
    """A year's change in the value's unit, with its interval; level: of the line at the last time;
    p: of Kendall's test that there is no drift.
    """

    a_year: float
    low: float
    high: float
    level: float
    p: float


class DriftLine(NamedTuple):
    """A drift as it is drawn: medians and quartiles of groups of neighbours, at their median day.

    days: numpy days. limit: the one ahead. slope: a year's change.
    """

    sheet: str
    item: str
    unit: str
    days: "NDArray[np.datetime64]"
    lower: "NDArray[np.float64]"
    median: "NDArray[np.float64]"
    upper: "NDArray[np.float64]"
    level: float
    slope: float
    limit: float


def drifts(rows: "pd.DataFrame", level: float = LEVEL) -> "pd.DataFrame":
    """One row a reading or item with a value: sheet, item, unit, runs, n, slope (a year) with low
    and high, level (where the line ends), limit (the one it moves toward, if the sheet has it),
    years_to_limit (if it went on so), p_adjusted, is_found: the drift is sure and toward a limit.
    """
    import numpy as np
    import pandas as pd

    columns = (
        *("sheet", "item", "unit", "runs", "n", "slope", "low", "high", "level"),
        *("limit", "years_to_limit", "p"),
    )
    spoken = _spoken(rows)
    found = []
    for (sheet, item, unit), group in spoken.groupby(["sheet", "item", "unit"], observed=True):
        if len(group) < FEWEST or group["start"].nunique() < 2:
            continue
        values = group.sort_values("start", kind="stable")
        slope = slope_of(_years(values["start"]), values["value"].to_numpy(dtype=float), level)
        limit = _limit_ahead(values, slope.a_year)
        years = _years_to(limit, slope)
        runs = group["run"].nunique()
        found.append(
            (*map(str, (sheet, item, unit)), runs, len(group), *slope[:4], limit, years, slope.p)
        )
    found.sort(key=lambda row: (row[0], natural_key(row[1]), row[2]))
    table = pd.DataFrame(found, columns=list(columns))
    if table.empty:
        return table.rename(columns={"p": "p_adjusted"}).assign(is_found=False)
    from scipy.stats import false_discovery_control

    table["p_adjusted"] = false_discovery_control(table.pop("p"), method="bh")
    is_clear = np.sign(table["low"]) == np.sign(table["high"])
    is_ahead = table["years_to_limit"].notna()
    table["is_found"] = (table["p_adjusted"] <= DISCOVERIES) & is_clear & is_ahead
    return table


def slope_of(
    years: "NDArray[np.float64]", values: "NDArray[np.float64]", level: float = LEVEL
) -> Slope:
    """The slope of values over times in order. ValueError for less than two different times."""
    from scipy.stats import kendalltau, theilslopes

    if len(years) < 2 or years[0] == years[-1]:
        raise ValueError("a slope needs values at two times or more")
    times, middles = blocks(years), blocks(values)
    # A run's readings share its start: pairs without a distance in time have no slope.
    fit = theilslopes(middles, times, level)
    p = kendalltau(times, middles).pvalue if middles.min() < middles.max() else 1.0
    return Slope(
        a_year=float(fit.slope),
        low=float(fit.low_slope),
        high=float(fit.high_slope),
        level=float(fit.intercept + fit.slope * times[-1]),
        p=float(p),
    )


def blocks(values: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Medians of at most BLOCKS runs of neighbours, as equal in number as can be."""
    import numpy as np

    if len(values) <= BLOCKS:
        return values
    return np.array([np.median(part) for part in np.array_split(values, BLOCKS)])


def drift_lines(rows: "pd.DataFrame", found: "pd.DataFrame", least: int) -> list[DriftLine]:
    """The drifts that were found, in groups of `least` values or more: no point is one run's."""
    import numpy as np

    spoken = _spoken(rows)
    lines = []
    drift: Any
    for drift in found[found["is_found"].astype(bool)].itertuples(index=False):
        values = spoken[
            (spoken["sheet"] == drift.sheet)
            & (spoken["item"] == drift.item)
            & (spoken["unit"] == drift.unit)
        ].sort_values("start", kind="stable")
        parts = np.array_split(
            np.arange(len(values)), max(min(len(values) // least, _POINTS_DRAWN), 1)
        )
        days = values["start"].dt.tz_localize(None).to_numpy(dtype="datetime64[D]")
        spread = np.array(
            [np.quantile(values["value"].to_numpy()[part], (0.25, 0.5, 0.75)) for part in parts]
        )
        middles = np.array([days[part[len(part) // 2]] for part in parts])
        names = (str(drift.sheet), str(drift.item), str(drift.unit))
        lower, median, upper = spread.T
        ends = (float(drift.level), float(drift.slope), float(drift.limit))
        lines.append(DriftLine(*names, middles, lower, median, upper, *ends))
    return lines


def _spoken(rows: "pd.DataFrame") -> "pd.DataFrame":
    """The rows of items and readings that have a value and a place in time."""
    is_kind = rows["kind"].isin(["item", "reading"])
    return rows[is_kind & rows["value"].notna() & rows["start"].notna()]


def _years(start: "pd.Series") -> "NDArray[np.float64]":
    days = (start - start.iloc[0]).dt.total_seconds() / 86_400
    years: NDArray[np.float64] = (days / _DAYS_A_YEAR).to_numpy(dtype=float)
    return years


def _limit_ahead(values: "pd.DataFrame", slope: float) -> float:
    """The latest limit in the direction of the slope; not a number where there is none."""
    if slope == 0:
        return float("nan")
    limits = values["limit_high" if slope > 0 else "limit_low"].dropna()
    return float(limits.iloc[-1]) if len(limits) else float("nan")


def _years_to(limit: float, slope: Slope) -> float:
    """0 where the line is beyond the limit already; not a number without a limit ahead."""
    if slope.a_year == 0:
        return float("nan")
    return max((limit - slope.level) / slope.a_year, 0.0) if limit == limit else limit  # noqa: PLR0124
