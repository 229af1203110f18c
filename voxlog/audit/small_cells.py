"""Small numbers are not shown: whoever knows who was there that month could tell whose they are.

- A group of fewer than K runs has no figures at all.
- A count from 1 to K - 1 is not shown, nor what it could be worked out from: the rate and its
  interval. That it is between 1 and K - 1 is.
- Where that leaves one hidden count in a table whose total stands elsewhere on the page, the next
  smallest is hidden with it, or subtraction would give the first (complementary suppression, as in
  Hundepool and others 2012, Statistical Disclosure Control).
- A quantile is shown where K answers or more lie beyond it: near the end it would be one person's.

This is the threshold rule of statistical offices. K = 5 is common practice: "Some agencies require
at least five respondents in a cell, others require three" (OECD Glossary of Statistical Terms,
Threshold rule). `--min-cell 1` shows everything, for those who may see it anyhow.
"""

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

__all__ = ["MIN_CELL", "hide_counts", "hide_few_runs", "hide_quantiles"]

MIN_CELL: Final = 5

_TELLING: Final = ("count", "rate", "low", "high", "design_effect", "errors", "p_adjusted")
"""What a count could be worked out from."""
_SIZES: Final = ("runs", "n")
_BEYOND: Final = {
    "lower_quartile_s": 0.25,
    "median_s": 0.5,
    "upper_quartile_s": 0.25,
    "p95_s": 0.05,
}


def hide_counts(table: "pd.DataFrame", least: int, within: list[str]) -> "pd.DataFrame":
    """The table (runs, n, count, and what follows from them) without its small numbers.

    within: the columns that say which rows have a total that is known. Adds `hidden`: "" or why
    (few-runs, small-count, beside-another), and `at_most`: the rate that a hidden count cannot
    exceed, (least - 1) / n.
    """
    import numpy as np

    shown = table.copy()
    count = table["count"].to_numpy(dtype=float)
    few = table["runs"].to_numpy() < least
    small = ~few & (count > 0) & (count < least)
    beside = np.zeros(len(table), dtype=bool)
    alone = (few & (count > 0)) | small
    for places in table.groupby(within, observed=True, sort=False).indices.values():
        if alone[places].sum() == 1:
            others = [place for place in places if not (few | small)[place] and count[place] > 0]
            beside[sorted(others, key=lambda place: count[place])[:1]] = True
    shown["hidden"] = np.select(
        [few, small, beside], ["few-runs", "small-count", "beside-another"], ""
    )
    shown["at_most"] = (least - 1) / table["n"].astype(float).where(small)
    if "is_high" in shown:
        shown["is_high"] &= shown["hidden"] == ""
    _blank(shown, few | small | beside, _TELLING)
    _blank(shown, few, _SIZES)
    return shown


def hide_few_runs(table: "pd.DataFrame", least: int) -> "pd.DataFrame":
    """The table's rows that rest on enough runs."""
    return table[table["runs"] >= least].reset_index(drop=True)


def hide_quantiles(table: "pd.DataFrame", least: int) -> "pd.DataFrame":
    """A table of delays without the quantiles that stand for too few answers."""
    shown = table.copy()
    few = table["runs"].to_numpy() < least
    for name, share in _BEYOND.items():
        _blank(shown, few | (table["n"].to_numpy() * share < least), (name,))
    _blank(shown, few, _SIZES)
    return shown


def _blank(table: "pd.DataFrame", where: "NDArray[np.bool_]", names: tuple[str, ...]) -> None:
    for name in names:
        if name in table:
            table[name] = table[name].astype(float).mask(where)
