"""The rows that an audit counts, and what each of them counts as.

The input is a table with the columns of the archive (voxlog/archive/table.py has their meaning);
of these an audit reads COLUMNS. `prepare` adds what each row counts as, and nothing else here
looks at statuses and flags.

An item's row counts as

    skipped, unconfirmed   by its status
    out of order           by its flag
    answered too fast      the answer began sooner than FLOOR_S after the end of the challenge; of
                           the rows whose delay is known only
    wrong                  skipped, unconfirmed, negative, out of order, off limit or misread

Late and uncertain rows are not wrong: the first says when, the second that voxlog is not sure.
"""

import re
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

__all__ = [
    "COLUMNS",
    "FLOOR_S",
    "MEASURES",
    "NO_CODE",
    "UNKNOWN",
    "Measure",
    "items_of",
    "natural_key",
    "prepare",
]

FLOOR_S: Final = 0.3
"""Seconds under which an answer is too fast to have followed a look at what was asked about.

Our own choice, without a source: no standard gives a floor for challenge and response. It lies just
above the 0.2 s that change of speaker takes in plain conversation (Stivers and others 2009, PNAS
106(26), 10587: mean 0.208 s over ten languages). A site states its own."""

COLUMNS: Final = (
    *("run", "sheet", "start", "reviewed", "review", "kind", "item", "position", "crew"),
    *("status", "flags", "value", "unit", "p", "delay_ms", "limit_low", "limit_high"),
)
"""The archive's columns that are read. The last three may be missing from an older table."""

NO_CODE: Final = "(not a code)"
UNKNOWN: Final = "(unknown)"
_CODE: Final = re.compile(r"[A-Z]{1,8}-?[0-9]{1,6}")
_WRONG_STATUS: Final = frozenset({"skipped", "unconfirmed", "negative"})
_WRONG_FLAGS: Final = frozenset({"out-of-order", "off-limit", "misread", "self-answered"})


class Measure(NamedTuple):
    """Something that is counted. among: the column of the rows that can count, or "" for all."""

    name: str
    label: str
    among: str = ""


MEASURES: Final = (
    Measure("skipped", "skipped"),
    Measure("out_of_order", "out of order"),
    Measure("unconfirmed", "unconfirmed"),
    Measure("too_fast", "answered too fast", "timed"),
)


def prepare(table: "pd.DataFrame", floor_s: float = FLOOR_S) -> "pd.DataFrame":
    """The table with what each row counts as: a yes-or-no column for every measure, and

    timed: its delay is known. wrong: see above. decided: people agreed about it in review, so that
    p no longer matters. month: of its start in UTC, "2026-11", or missing. doubt: the probability
    that the row is not as it says, 0 where decided.
    """
    import numpy as np
    import pandas as pd

    status, flags = _texts(table["status"]), _texts(table["flags"])
    rows = table.drop(columns=["status", "flags", "review"], errors="ignore").copy()
    for name in ("delay_ms", "limit_low", "limit_high"):
        rows[name] = pd.Series(table.get(name, np.nan), index=table.index, dtype="float64")
    rows["crew"] = _codes_only(_texts(table["crew"]))
    for name in ("run", "sheet", "item", "position", "crew", "kind", "unit"):
        rows[name] = rows[name].astype("category").cat.remove_unused_categories()
    rows["skipped"] = _is_among(status, {"skipped"})
    rows["unconfirmed"] = _is_among(status, {"unconfirmed"})
    rows["out_of_order"] = _has_any(flags, {"out-of-order"})
    rows["timed"] = rows["delay_ms"].notna()
    rows["too_fast"] = rows["delay_ms"] < floor_s * 1000
    rows["wrong"] = _is_among(status, _WRONG_STATUS) | _has_any(flags, _WRONG_FLAGS)
    decided = _is_among(_texts(table["review"]), {"agreed"})
    rows["doubt"] = np.where(decided, 0.0, 1.0 - rows["p"].to_numpy(dtype=float))
    start = pd.to_datetime(rows["start"], utc=True)
    rows["start"] = start
    rows["month"] = _months(start)
    return rows


def items_of(rows: "pd.DataFrame") -> "pd.DataFrame":
    """The rows of items: those that can be skipped, confirmed or out of order."""
    return rows[rows["kind"] == "item"]


def natural_key(name: object) -> tuple[int, int, str]:
    """Sorts numbered items by number and named ones after them: 2, 10, saturation."""
    text = str(name)
    return (0, int(text), "") if text.isdecimal() else (1, 0, text)


def _codes_only(column: "pd.Series") -> "pd.Series":
    """Crew codes; a name has no place in an audit, whoever wrote it into a run folder."""
    shown = {
        text: text if _CODE.fullmatch(str(text)) else NO_CODE if text else UNKNOWN
        for text in column.cat.categories
    }
    return column.map(shown).fillna(UNKNOWN).astype("category")


def _texts(column: "pd.Series") -> "pd.Series":
    return column.astype("category")


def _is_among(column: "pd.Series", words: set[str] | frozenset[str]) -> "NDArray[np.bool_]":
    """Asked once a category, not once a row."""
    return _of_categories(column, [str(word) in words for word in column.cat.categories])


def _has_any(column: "pd.Series", words: set[str] | frozenset[str]) -> "NDArray[np.bool_]":
    """Whether one of the words stands in a text of words separated by semicolons."""
    has = [not words.isdisjoint(str(text).split(";")) for text in column.cat.categories]
    return _of_categories(column, has)


def _of_categories(column: "pd.Series", answers: list[bool]) -> "NDArray[np.bool_]":
    """Missing texts, whose code is -1, take the last answer: no."""
    import numpy as np

    return np.array([*answers, False], dtype=bool)[column.cat.codes.to_numpy()]


def _months(start: "pd.Series") -> "pd.Series":
    """Text by month; made from the few different months, as millions of texts take seconds."""
    import pandas as pd

    number = start.dt.year * 12 + start.dt.month - 1
    codes, found = pd.factorize(number, sort=True)
    names = [f"{int(month) // 12:04}-{int(month) % 12 + 1:02}" for month in found]
    months = pd.CategoricalDtype(names, ordered=True)
    return pd.Series(pd.Categorical.from_codes(codes, dtype=months), index=start.index)
