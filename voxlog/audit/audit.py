"""The audit: what the rows of many runs come to. Pure; reading and the page are elsewhere.

read.read_rows -> rows.prepare -> audit -> Audit -> page, csv_files, lines
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from voxlog.audit.confidence import by_confidence, possible_errors
from voxlog.audit.delays import delays
from voxlog.audit.drift import DriftLine, drift_lines, drifts
from voxlog.audit.question import Found, Question
from voxlog.audit.rates import rates
from voxlog.audit.rows import items_of, prepare
from voxlog.audit.small_cells import hide_counts, hide_few_runs, hide_quantiles
from voxlog.audit.together import together
from voxlog.audit.trend import Trend, trend_table, trends

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

__all__ = ["Audit", "Scope", "audit"]


@dataclass(frozen=True, slots=True)
class Scope:
    """What was counted, for which question.

    runs, not_reviewed: as in Found. rows: of items. first, last: months of the runs, "" if nobody
    knows any. without_start: runs that have no place in time. sheets: their ids.
    """

    question: Question
    runs: int
    not_reviewed: int
    rows: int
    first: str
    last: str
    without_start: int
    sheets: tuple[str, ...]

    @property
    def is_too_small(self) -> bool:
        """So few runs that no figure is shown."""
        return self.runs < self.question.min_cell


@dataclass(frozen=True, slots=True)
class Audit:
    """The results, small numbers already hidden. Each table's columns are described where it is
    made: totals and strata in confidence.py, rates, delays, pairs in together.py, drifts, points in
    trend.py. charts: the charts as drawn, whole. lines: the drifts that were found, as drawn.
    """

    scope: Scope
    totals: "pd.DataFrame"
    rates: "pd.DataFrame"
    delays: "pd.DataFrame"
    charts: tuple[Trend, ...]
    points: "pd.DataFrame"
    pairs: "pd.DataFrame"
    drifts: "pd.DataFrame"
    lines: tuple[DriftLine, ...]
    strata: "pd.DataFrame"

    @property
    def tables(self) -> "Mapping[str, pd.DataFrame]":
        """By the name of its CSV file."""
        return {
            "totals": self.totals,
            "rates": self.rates,
            "delays": self.delays,
            "trend": self.points,
            "together": self.pairs,
            "drift": self.drifts,
            "confidence": self.strata,
        }


def audit(found: Found, question: Question) -> Audit:
    """Everything that the rows come to."""
    rows = prepare(found.rows, question.floor_s)
    least = question.min_cell
    charts = tuple(trends(rows))
    moved = hide_few_runs(drifts(rows), least)
    pairs = together(rows)
    return Audit(
        scope=_scope(rows, found, question),
        totals=hide_counts(possible_errors(rows), least, ["measure"]),
        rates=hide_counts(rates(rows, question.by), least, ["measure"]),
        delays=hide_quantiles(delays(rows, question.by), least),
        charts=charts,
        points=hide_counts(trend_table(charts), least, ["sheet", "item", "measure"]),
        pairs=pairs[(pairs["both"] == 0) | (pairs["both"] >= least)].reset_index(drop=True),
        drifts=moved,
        lines=tuple(drift_lines(rows, moved, least)),
        strata=hide_counts(by_confidence(rows), least, ["measure"]),
    )


def _scope(rows: "pd.DataFrame", found: Found, question: Question) -> Scope:
    months = rows["month"].dropna()
    return Scope(
        question=question,
        runs=found.runs,
        not_reviewed=found.not_reviewed,
        rows=len(items_of(rows)),
        first=str(months.min()) if len(months) else "",
        last=str(months.max()) if len(months) else "",
        without_start=int(rows.loc[rows["month"].isna(), "run"].nunique()),
        sheets=tuple(sorted(map(str, rows["sheet"].cat.categories))),
    )
