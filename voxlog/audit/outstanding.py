"""What stands out, in sentences; made from what is shown only, so that nothing hidden slips out."""

from typing import TYPE_CHECKING, Any, Final, Literal, NamedTuple

from voxlog.audit.audit import Audit
from voxlog.audit.rates import group_columns
from voxlog.audit.trend import strongest
from voxlog.audit.wording import (
    LABELS,
    PERIODS,
    format_interval,
    format_number,
    format_rate,
    group_name,
    item_name,
    pair_name,
)

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Line", "outstanding"]

Section = Literal["rates", "trend", "together", "drift", "confidence"]

_MOST: Final = 4
"""Lines of one kind; the tables have the rest."""
_SHARE: Final = 0.1
"""Share of a count that may be the recogniser's error before it is said here."""


class Line(NamedTuple):
    """section: of the page, where the figures stand."""

    section: Section
    text: str


def outstanding(audit: Audit) -> list[Line]:
    """In the order of the page; empty if nothing does."""
    return [
        *_high_rates(audit),
        *_signals(audit),
        *_pairs(audit),
        *_drifts(audit),
        *_doubts(audit),
    ]


def _high_rates(audit: Audit) -> list[Line]:
    question = audit.scope.question
    keys = group_columns(question.by)
    lines = []
    for measure, label in LABELS.items():
        table = audit.rates[(audit.rates["measure"] == measure) & audit.rates["is_high"]]
        rows: list[Any] = list(table.sort_values("low", ascending=False).to_dict("records"))
        if not rows:
            continue
        named = [
            f"{group_name(_keys(row, keys), one_sheet=_one_sheet(audit), by=question.by)} at "
            f"{format_rate(row['rate'])} ({format_interval(row['low'], row['high'])})"
            for row in rows[:_MOST]
        ]
        more = _more(len(rows))
        total = _total(audit.totals, measure)
        lines.append(
            Line("rates", f"Above the rate of all rows ({total}) {label}: {'; '.join(named)}{more}")
        )
    return lines


def _signals(audit: Audit) -> list[Line]:
    charts = strongest(audit.charts)
    lines = []
    for trend in charts[:_MOST]:
        chart = trend.chart
        where = "all items" if not trend.item else _name(audit, trend.sheet, trend.item)
        beyond = [name for name, is_out in zip(trend.names, chart.beyond, strict=True) if is_out]
        parts = []
        if beyond:
            parts.append(f"outside its limits in {_periods(trend.period, beyond)}")
        if chart.run.any():
            first = trend.names[int(chart.run.argmax())]
            parts.append(
                f"eight or more {PERIODS[trend.period]} on one side of the mean by {first}"
            )
        lines.append(Line("trend", f"{where}, {LABELS[trend.measure]}: {'; '.join(parts)}"))
    if len(charts) > _MOST:
        lines.append(
            Line("trend", f"{len(charts) - _MOST} more charts have a signal; see the table")
        )
    return lines


def _periods(period: str, names: list[str]) -> str:
    text = ", ".join(names[:_MOST]) + (", …" if len(names) > _MOST else "")
    return text if period == "month" else f"the {period} from {text}"


def _pairs(audit: Audit) -> list[Line]:
    rows: list[Any] = list(audit.pairs[audit.pairs["is_found"].astype(bool)].to_dict("records"))
    lines = []
    for row in rows[:_MOST]:
        pair = pair_name(row["sheet"], row["first"], row["second"], one_sheet=_one_sheet(audit))
        text = (
            f"{pair} go wrong together: in {row['both']:,} runs, where bad runs alone explain "
            f"{row['expected']:.0f}"
        )
        lines.append(Line("together", text))
    if len(rows) > _MOST:
        lines.append(Line("together", f"{len(rows) - _MOST} more pairs; see the table"))
    return lines


def _drifts(audit: Audit) -> list[Line]:
    rows: list[Any] = list(audit.drifts[audit.drifts["is_found"].astype(bool)].to_dict("records"))
    return [
        Line(
            "drift",
            f"{_name(audit, row['sheet'], row['item'])} {_moves(row['slope'])} "
            f"{row['unit']} a year toward its limit of {format_number(row['limit'])}; "
            f"it stands at {format_number(row['level'])}",
        )
        for row in rows[:_MOST]
    ]


def _moves(slope: float) -> str:
    return f"{'rises' if slope > 0 else 'falls'} by {format_number(abs(slope))}"


def _doubts(audit: Audit) -> list[Line]:
    lines = []
    rows: list[Any] = list(audit.totals.to_dict("records"))
    for row in rows:
        if row["count"] > 0 and row["errors"] >= _SHARE * row["count"]:
            text = (
                f"About {row['errors'] / row['count']:.0%} of the rows counted as "
                f"{LABELS[row['measure']]} may be the recogniser's error"
            )
            lines.append(Line("confidence", text))
    return lines


def _name(audit: Audit, sheet: str, item: str) -> str:
    return item_name(sheet, item, one_sheet=_one_sheet(audit))


def _one_sheet(audit: Audit) -> bool:
    return len(audit.scope.sheets) <= 1


def _keys(row: Any, keys: list[str]) -> tuple[str, ...]:
    return tuple(str(row[key]) for key in keys)


def _more(count: int) -> str:
    return f"; and {count - _MOST} more" if count > _MOST else ""


def _total(totals: "pd.DataFrame", measure: str) -> str:
    return format_rate(float(totals.loc[totals["measure"] == measure, "rate"].sum()))
