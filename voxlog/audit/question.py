"""What is asked of an audit, and the rows found for it."""

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, NamedTuple

from voxlog.audit.rates import By
from voxlog.audit.rows import FLOOR_S
from voxlog.audit.small_cells import MIN_CELL

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Found", "Question"]


@dataclass(frozen=True, slots=True)
class Question:
    """Which runs, and how they are counted.

    since: runs that began then or later, with its zone; a run whose start nobody knows is left out
    then. sheet: id of the run sheet. unreviewed: count runs that nobody has reviewed as well.
    by: groups of the rates. floor_s: an answer sooner than that is too fast. min_cell: the least
    number that is shown; 1 shows all.
    """

    since: datetime | None = None
    sheet: str | None = None
    unreviewed: bool = False
    by: By = "item"
    floor_s: float = FLOOR_S
    min_cell: int = MIN_CELL


class Found(NamedTuple):
    """rows: the columns of rows.COLUMNS, not yet prepared. runs: how many are counted.
    not_reviewed: how many were left out for want of a review, or with `unreviewed` are counted.
    """

    rows: "pd.DataFrame"
    runs: int
    not_reviewed: int
