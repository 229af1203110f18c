"""The figures of an audit's page. Each has axes with units, a legend, and a table beside it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from voxlog.audit.drift import DriftLine
from voxlog.audit.svg import PALETTE
from voxlog.audit.trend import Trend
from voxlog.audit.wording import p_range

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["chart_figure", "delay_figure", "drift_figure", "rate_figure", "strata_figure"]

_WIDTH: Final = 5.0
_IN_A_LINE: Final = 4
"""Words of a legend beside each other."""
_LABELS: Final = 5
"""Months that have room below a figure."""
_ROW: Final = 0.25
"""Inches; a row of names takes as much as its letters need."""


def rate_figure(table: "pd.DataFrame", names: Sequence[str], total: float) -> "Figure":
    """Rates with their intervals, the first row on top. table: rate, low, high; none hidden."""
    figure, axes = _rows(len(table), names)
    places = range(len(table))
    rate, low, high = (table[name].to_numpy(dtype=float) * 100 for name in ("rate", "low", "high"))
    axes.hlines(places, low, high, color=PALETTE["curve"], linewidth=2, label="95 % interval")
    axes.plot(rate, places, "o", color=PALETTE["curve"], markersize=5, label="rate")
    axes.axvline(
        total * 100, color=PALETTE["soft"], linestyle="--", linewidth=1.2, label="all rows"
    )
    axes.set_xlim(left=0)
    axes.set_xlabel("rate, %")
    _legend(figure, axes)
    return figure


def delay_figure(table: "pd.DataFrame", names: Sequence[str], floor_s: float) -> "Figure":
    """Quartiles, median and 95th percentile of delays; what is hidden is not drawn."""
    figure, axes = _rows(len(table), names)
    places = range(len(table))

    def column(name: str) -> Any:
        return table[name].to_numpy(dtype=float)

    axes.hlines(
        places,
        column("lower_quartile_s"),
        column("upper_quartile_s"),
        color=PALETTE["curve"],
        linewidth=6,
        alpha=0.45,
        label="middle half",
    )
    axes.plot(column("median_s"), places, "o", color=PALETTE["curve"], label="median")
    axes.plot(
        column("p95_s"), places, "|", color=PALETTE["ink"], markersize=9, label="95th percentile"
    )
    axes.axvline(floor_s, color=PALETTE["grave"], linestyle=":", linewidth=1.5, label="too fast")
    axes.set_xlim(left=0)
    axes.set_xlabel("from the end of the challenge to the answer, s")
    _legend(figure, axes)
    return figure


def chart_figure(trend: Trend, least: int) -> "Figure":
    """A control chart. Counts from 1 to least - 1 are drawn as the stretch in which they lie."""
    import numpy as np

    chart = trend.chart
    places = np.arange(len(trend.names))
    figure, axes = _plot()
    rate = chart.rate * 100
    few = trend.runs < least
    hidden = ~few & (trend.counts > 0) & (trend.counts < least)
    shown = np.where(hidden | few, np.nan, rate)
    # A signal that lies in a hidden stretch stands in the middle of it.
    marked = np.where(hidden, 50 * least / np.maximum(trend.sizes, 1), shown)
    upper, lower = chart.upper * 100, chart.lower * 100
    axes.fill_between(
        places, lower, upper, step="mid", color=PALETTE["within"], linewidth=0, label="limits, 3 sd"
    )
    axes.axhline(chart.centre * 100, color=PALETTE["soft"], linestyle="--", label="mean")
    axes.plot(places, shown, "o-", color=PALETTE["curve"], linewidth=1.2, markersize=3.5)
    if hidden.any():
        sizes = trend.sizes[hidden]
        axes.vlines(
            places[hidden],
            100 / sizes,
            100 * (least - 1) / sizes,
            color=PALETTE["curve"],
            linewidth=3,
            alpha=0.6,
            label=f"1 to {least - 1} counted",
        )
    for where, marker, label in ((chart.beyond, "s", "rule 1"), (chart.run, "D", "rule 4")):
        if (where & ~np.isnan(marked)).any():
            axes.plot(
                places[where],
                marked[where],
                marker,
                color=PALETTE["grave"],
                markersize=6,
                label=label,
            )
    step = max(-(-len(places) // _LABELS), 1)
    axes.set_xticks(places[::step], trend.names[::step])
    axes.set_ylim(bottom=0)
    axes.set_ylabel("rate, %")
    axes.set_xlabel(trend.period if trend.period == "month" else f"{trend.period}, from")
    _legend(figure, axes)
    return figure


def strata_figure(table: "pd.DataFrame") -> "Figure":
    """Rates among rows of like p. table: one measure, none hidden."""
    figure, axes = _plot()
    places = range(len(table))
    rate, low, high = (table[name].to_numpy(dtype=float) * 100 for name in ("rate", "low", "high"))
    axes.vlines(places, low, high, color=PALETTE["curve"], linewidth=2, label="95 % interval")
    axes.plot(places, rate, "o", color=PALETTE["curve"], label="rate")
    axes.set_xticks(
        places, [p_range(*pair) for pair in zip(table["p_from"], table["p_to"], strict=True)]
    )
    axes.margins(x=0.12)
    axes.set_ylim(bottom=0)
    axes.set_ylabel("rate, %")
    axes.set_xlabel("p of the rows")
    _legend(figure, axes)
    return figure


def drift_figure(line: DriftLine) -> "Figure":
    """Values in groups of neighbours, the robust line, and the limit ahead."""
    import numpy as np

    figure, axes = _plot()
    days = line.days.astype("datetime64[D]").astype(int)
    axes.vlines(
        days,
        line.lower,
        line.upper,
        color=PALETTE["curve"],
        alpha=0.45,
        linewidth=3,
        label="middle half",
    )
    axes.plot(days, line.median, "o", color=PALETTE["curve"], markersize=4, label="median")
    axes.margins(y=0.1)
    ends = np.array([days[0], days[-1]])
    axes.plot(
        ends,
        line.level - line.slope * (ends[-1] - ends) / 365.25,
        color=PALETTE["ink"],
        linewidth=1.4,
        label="slope",
    )
    axes.axhline(line.limit, color=PALETTE["grave"], linestyle=":", linewidth=1.6, label="limit")
    first, last = (np.datetime64(int(day), "D").astype("datetime64[M]") for day in ends)
    months = np.arange(first, last + 1, max(int((last - first).astype(int)) // (_LABELS - 1), 1))
    axes.set_xticks(months.astype("datetime64[D]").astype(int), months.astype(str))
    axes.set_xlabel("month")
    axes.set_ylabel(f"value, {line.unit}" if line.unit else "value")
    _legend(figure, axes)
    return figure


def _rows(count: int, names: Sequence[str]) -> "tuple[Figure, Axes]":
    """For things below one another, with their names."""
    height = 1.1 + _ROW * count
    figure, axes = _figure(height)
    left = min(0.04 + 0.0168 * max(map(len, names), default=0), 0.5)
    figure.subplots_adjust(left=left, right=0.97, bottom=0.55 / height, top=1 - 0.42 / height)
    axes.set_yticks(range(count), names)
    axes.set_ylim(count - 0.5, -0.5)
    axes.grid(axis="x", color=PALETTE["grid"], linewidth=0.6)
    return figure, axes


def _plot() -> "tuple[Figure, Axes]":
    figure, axes = _figure(3.3)
    figure.subplots_adjust(left=0.15, right=0.96, bottom=0.16, top=0.83)
    axes.grid(axis="y", color=PALETTE["grid"], linewidth=0.6)
    return figure, axes


def _figure(height: float) -> "tuple[Figure, Axes]":
    from matplotlib.figure import Figure

    figure = Figure(figsize=(_WIDTH, height))
    axes = figure.add_subplot()
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(PALETTE["soft"])
    axes.tick_params(colors=PALETTE["soft"], labelcolor=PALETTE["ink"], labelsize=10)
    axes.xaxis.label.set(color=PALETTE["ink"], size=10)
    axes.yaxis.label.set(color=PALETTE["ink"], size=10)
    return figure, axes


def _legend(figure: "Figure", axes: "Axes") -> None:
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(
        handles,
        labels,
        loc="upper left",
        ncols=min(len(labels), _IN_A_LINE),
        fontsize=10,
        frameon=False,
        labelcolor=PALETTE["ink"],
        handlelength=1.2,
        columnspacing=1.0,
        handletextpad=0.4,
        borderaxespad=0.2,
    )
