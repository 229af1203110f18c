"""The tables of an audit's page: texts in rows, the first of each the row's name."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from voxlog.audit.audit import Audit
from voxlog.audit.rates import group_columns
from voxlog.audit.wording import (
    LABELS,
    format_count,
    format_interval,
    format_number,
    format_rate,
    group_name,
    item_name,
    p_range,
    pair_name,
)

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "Table",
    "delay_table",
    "drift_table",
    "high_table",
    "pair_table",
    "point_table",
    "rate_table",
    "row_names",
    "signal_table",
    "strata_table",
    "totals_table",
]


class Table(NamedTuple):
    """headers: a heading that ends in "#" is of numbers, set to the right."""

    caption: str
    headers: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]


def row_names(audit: Audit, table: "pd.DataFrame") -> list[str]:
    """The name of each row's group."""
    by = audit.scope.question.by
    keys = group_columns(by)
    one_sheet = len(audit.scope.sheets) <= 1
    return [
        group_name(tuple(map(str, row)), one_sheet=one_sheet, by=by)
        for row in table[keys].itertuples(index=False)
    ]


def totals_table(audit: Audit) -> Table:
    """The rates of all rows, and how much of them the recogniser could have made."""
    rows = [
        (
            LABELS[row["measure"]],
            format_count(row["n"]),
            *_counted(row, audit.scope.question.min_cell),
            format_count(row["errors"]),
            f"{format_rate(row['rate_least'])} to {format_rate(row['rate_most'])}",
        )
        for row in _records(_unless_hidden(audit.totals, ("rate_least", "rate_most")))
    ]
    return Table(
        "All rows together",
        (
            "what",
            "rows#",
            "counted#",
            "rate#",
            "of these expected in error#",
            "rate that p allows#",
        ),
        rows,
    )


def high_table(audit: Audit) -> Table:
    """The groups above the rate of all rows."""
    table = audit.rates[audit.rates["is_high"]].sort_values(
        ["measure", "low"], ascending=[True, False], kind="stable"
    )
    rows = [
        (
            name,
            LABELS[row["measure"]],
            format_count(row["runs"]),
            format_count(row["count"]),
            format_rate(row["rate"]),
            format_interval(row["low"], row["high"]),
            format_count(row["errors"]),
        )
        for name, row in zip(row_names(audit, table), _records(table), strict=True)
    ]
    return Table(
        "Above the rate of all rows",
        (_by(audit), "what", "runs#", "counted#", "rate#", "95 % interval#", "expected in error#"),
        rows,
    )


def rate_table(audit: Audit) -> Table:
    """Every group with every measure."""
    table = audit.rates
    least = audit.scope.question.min_cell
    cells: dict[str, list[str]] = {}
    for name, row in zip(row_names(audit, table), _records(table), strict=True):
        cells.setdefault(name, []).append(_rate_cell(row, least))
    return Table(
        f"Rates by {audit.scope.question.by}: rate (95 % interval), counted of rows",
        (_by(audit), *(f"{label}#" for label in LABELS.values())),
        [(name, *texts) for name, texts in cells.items()],
    )


def delay_table(audit: Audit) -> Table:
    table = audit.delays
    rows = [
        (
            name,
            format_count(row["n"]),
            *(format_number(row[column]) for column in _DELAYS),
        )
        for name, row in zip(row_names(audit, table), _records(table), strict=True)
    ]
    return Table(
        "Seconds from the end of the challenge to the answer",
        (
            _by(audit),
            "answers#",
            "lower quartile#",
            "median#",
            "upper quartile#",
            "95th percentile#",
        ),
        rows,
    )


_DELAYS = ("lower_quartile_s", "median_s", "upper_quartile_s", "p95_s")


def signal_table(audit: Audit) -> Table:
    """The points that a rule of a control chart points at."""
    points = audit.points
    if points.empty:
        return Table("Signals", (), [])
    begins = points["run"] & ~points["run"].shift(fill_value=False)
    signals = points[(points["beyond"] | begins) & (points["hidden"] != "few-runs")]
    rows = [
        (
            _chart_name(audit, row),
            LABELS[row["measure"]],
            f"{row['period']} from {row['from']}" if row["period"] != "month" else row["from"],
            "1" if row["beyond"] and not row["run"] else "4" if not row["beyond"] else "1 and 4",
            _counted(row, audit.scope.question.min_cell)[1],
            format_rate(row["centre"]),
            f"{format_rate(row['lower'])} to {format_rate(row['upper'])}",
            f"{row['overdispersion']:.2f}",
        )
        for row in _records(signals)
    ]
    return Table(
        "Signals",
        ("chart", "what", "when", "rule", "rate#", "mean#", "limits#", "overdispersion#"),
        rows,
    )


def point_table(audit: Audit, sheet: str, item: str, measure: str) -> Table:
    """The points of one chart."""
    points = audit.points
    chosen = points[
        (points["sheet"] == sheet) & (points["item"] == item) & (points["measure"] == measure)
    ]
    least = audit.scope.question.min_cell
    rows = [
        (
            str(row["from"]),
            format_count(row["n"]),
            *_counted(row, least),
            f"{format_rate(row['lower'])} to {format_rate(row['upper'])}",
        )
        for row in _records(chosen)
    ]
    return Table("Points", ("from", "rows#", "counted#", "rate#", "limits#"), rows)


_PAIR = ("sheet", "first", "second")


def pair_table(audit: Audit) -> Table:
    found = audit.pairs[audit.pairs["is_found"].astype(bool)]
    rows = [
        (
            pair_name(*(row[end] for end in _PAIR), one_sheet=len(audit.scope.sheets) <= 1),
            format_count(row["runs"]),
            format_count(row["both"]),
            format_number(row["expected"]),
            format_number(row["ratio"]),
            f"{format_number(row['low'])} to {format_number(row['high'])}",
            _small(row["p_adjusted"]),
        )
        for row in _records(found)
    ]
    return Table(
        "Pairs that go wrong together more often than bad runs explain",
        (
            *("items", "runs#", "both wrong#", "explained by bad runs#"),
            *("times as often#", "95 % interval#", "adjusted p#"),
        ),
        rows,
    )


def drift_table(audit: Audit) -> Table:
    rows = [
        (
            _name(audit, row["sheet"], row["item"]),
            row["unit"],
            format_count(row["n"]),
            format_number(row["slope"]),
            f"{format_number(row['low'])} to {format_number(row['high'])}",
            format_number(row["level"]),
            format_number(row["limit"]),
            format_number(row["years_to_limit"]) if row["is_found"] else "",
            _small(row["p_adjusted"]),
        )
        for row in _records(audit.drifts)
    ]
    return Table(
        "Slope of the values over time",
        (
            *(
                "item or reading",
                "unit",
                "values#",
                "a year#",
                "95 % interval#",
                "now#",
                "limit ahead#",
            ),
            *("years to it, if it went on#", "adjusted p#"),
        ),
        rows,
    )


def strata_table(audit: Audit) -> Table:
    least = audit.scope.question.min_cell
    rows: dict[str, list[str]] = {}
    for row in _records(audit.strata):
        rows.setdefault(p_range(row["p_from"], row["p_to"]), []).append(_rate_cell(row, least))
    return Table(
        "Rates by p: rate (95 % interval), counted of rows",
        ("p", *(f"{label}#" for label in LABELS.values())),
        [(name, *texts) for name, texts in rows.items()],
    )


def _by(audit: Audit) -> str:
    return str(audit.scope.question.by)


def _rate_cell(row: Any, least: int) -> str:
    if row["hidden"] == "few-runs":
        return _hidden(row, least)
    if row["hidden"]:
        return f"{_hidden(row, least)} of {format_count(row['n'])}"
    if not row["n"]:
        return "no rows"
    mark = "▲ " if row.get("is_high") else ""
    interval = format_interval(row["low"], row["high"])
    counted = f"{row['count']:,.0f} of {row['n']:,.0f}"
    return f"{mark}{format_rate(row['rate'])} ({interval})\n{counted}"


def _counted(row: Any, least: int) -> tuple[str, str]:
    """Count and rate, or what may be said of them."""
    if row["hidden"]:
        bound = "" if row["at_most"] != row["at_most"] else f"at most {format_rate(row['at_most'])}"
        return _hidden(row, least), bound or "not shown"
    return format_count(row["count"]), format_rate(row["rate"])


def _hidden(row: Any, least: int) -> str:
    words = {
        "few-runs": f"fewer than {least} runs",
        "small-count": f"1 to {least - 1}",
        "beside-another": "not shown",
    }
    return words[row["hidden"]]


def _small(p: float) -> str:
    return "< 0.001" if p < 0.001 else f"{p:.3f}"


def _unless_hidden(table: "pd.DataFrame", names: Sequence[str]) -> "pd.DataFrame":
    shown = table.copy()
    for name in names:
        shown[name] = shown[name].mask(shown["hidden"] != "")
    return shown


def _records(table: "pd.DataFrame") -> list[Any]:
    return list(table.to_dict("records"))


def _name(audit: Audit, sheet: str, item: str) -> str:
    return item_name(sheet, item, one_sheet=len(audit.scope.sheets) <= 1)


def _chart_name(audit: Audit, row: Any) -> str:
    return _name(audit, row["sheet"], row["item"]) if row["item"] else "all items"
