"""The page of an audit: one HTML text that needs nothing beside it.

All text goes through jinja2's autoescape. The content security policy allows the page's own style,
by its digest, and nothing else: no script, no picture, no address.
"""

import base64
import hashlib
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from voxlog import __version__
from voxlog.audit import figures, tables
from voxlog.audit.audit import Audit
from voxlog.audit.control_chart import POINTS_A_FALSE_ALARM
from voxlog.audit.outstanding import outstanding
from voxlog.audit.rows import FLOOR_S
from voxlog.audit.svg import Drawings
from voxlog.audit.trend import Trend, strongest
from voxlog.audit.wording import LABELS, format_count, item_name

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["render_page"]

_MOST: Final = 12
"""Groups in a figure."""
_CHARTS: Final = 6
"""Charts of items that are drawn, those with the strongest signals; the table has all."""


class _Drawn(NamedTuple):
    caption: str
    svg: str
    table: tables.Table | None = None


def render_page(audit: Audit) -> str:
    """The whole page. InputError if what draws it is not installed."""
    import jinja2

    drawings = Drawings()
    view = _view(audit, drawings)
    style = _asset("style.css") + drawings.rules
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=False
    )
    template = environment.from_string(_asset("page.html"))
    return template.render(style=style, policy=_policy(style), **view) + "\n"


def _view(audit: Audit, drawings: Drawings) -> dict[str, Any]:
    charts = audit.charts
    signalled = [trend for trend in strongest(charts) if trend.item]
    points = sum(len(trend.names) for trend in charts)
    return {
        "scope": audit.scope,
        "question": audit.scope.question,
        "count": format_count,
        "version": __version__,
        "most": _MOST,
        "is_own_floor": audit.scope.question.floor_s != FLOOR_S,
        "lines": outstanding(audit),
        "totals": tables.totals_table(audit),
        "high": tables.high_table(audit),
        "all_rates": tables.rate_table(audit),
        "rate_figures": _rate_figures(audit, drawings),
        "all_delays": tables.delay_table(audit),
        "delay_figures": _delay_figures(audit, drawings),
        "overall": [_chart(audit, trend, drawings) for trend in charts if not trend.item],
        "signalled": [_chart(audit, trend, drawings) for trend in signalled[:_CHARTS]],
        "signals": tables.signal_table(audit),
        "chart_count": len(charts),
        "point_count": points,
        "false_alarms": points / POINTS_A_FALSE_ALARM,
        "pairs": tables.pair_table(audit),
        "pair_count": len(audit.pairs),
        "all_drifts": tables.drift_table(audit),
        "drift_figures": _drift_figures(audit, drawings),
        "strata": tables.strata_table(audit),
        "strata_figures": _strata_figures(audit, drawings),
    }


def _rate_figures(audit: Audit, drawings: Drawings) -> list[_Drawn]:
    drawn = []
    for measure, label in LABELS.items():
        shown = audit.rates[(audit.rates["measure"] == measure) & audit.rates["rate"].notna()]
        table = _first(audit, shown, "low")
        if table.empty:
            continue
        total = audit.totals.loc[audit.totals["measure"] == measure, "rate"].sum()
        figure = figures.rate_figure(table, tables.row_names(audit, table), float(total))
        drawn.append(_Drawn(label, drawings.draw(figure, f"Rates of {label}")))
    return drawn


def _delay_figures(audit: Audit, drawings: Drawings) -> list[_Drawn]:
    table = _first(audit, audit.delays[audit.delays["median_s"].notna()], "median_s")
    if table.empty:
        return []
    names = tables.row_names(audit, table)
    figure = figures.delay_figure(table, names, audit.scope.question.floor_s)
    return [_Drawn("Delay of answers", drawings.draw(figure, "Delay of answers"))]


def _first(audit: Audit, table: "pd.DataFrame", column: str) -> "pd.DataFrame":
    """The rows to draw: the highest, or the last months in their order."""
    if audit.scope.question.by == "month":
        return table.tail(_MOST)
    return table.sort_values(column, ascending=False, kind="stable").head(_MOST)


def _chart(audit: Audit, trend: Trend, drawings: Drawings) -> _Drawn:
    name = _name(audit, trend.sheet, trend.item) if trend.item else "all items"
    caption = f"{name}: {LABELS[trend.measure]}"
    figure = figures.chart_figure(trend, audit.scope.question.min_cell)
    table = tables.point_table(audit, trend.sheet, trend.item, trend.measure)
    return _Drawn(caption, drawings.draw(figure, f"Control chart, {caption}"), table)


def _drift_figures(audit: Audit, drawings: Drawings) -> list[_Drawn]:
    return [
        _Drawn(
            _name(audit, line.sheet, line.item),
            drawings.draw(figures.drift_figure(line), f"Values of {line.item} over time"),
        )
        for line in audit.lines[:_CHARTS]
    ]


def _strata_figures(audit: Audit, drawings: Drawings) -> list[_Drawn]:
    drawn = []
    for measure, label in LABELS.items():
        shown = audit.strata[(audit.strata["measure"] == measure) & audit.strata["rate"].notna()]
        if not shown.empty:
            figure = figures.strata_figure(shown)
            drawn.append(_Drawn(label, drawings.draw(figure, f"Rates of {label} by p")))
    return drawn


def _name(audit: Audit, sheet: str, item: str) -> str:
    return item_name(sheet, item, one_sheet=len(audit.scope.sheets) <= 1)


def _asset(name: str) -> str:
    return (files("voxlog.audit") / "templates" / name).read_text(encoding="utf-8")


def _policy(style: str) -> str:
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
