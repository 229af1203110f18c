"""How long after a challenge the answer begins, by group."""

from typing import TYPE_CHECKING

from voxlog.audit.rates import By, group_columns, sort_groups
from voxlog.audit.rows import items_of

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["delays"]

_QUANTILES = {"lower_quartile_s": 0.25, "median_s": 0.5, "upper_quartile_s": 0.75, "p95_s": 0.95}


def delays(rows: "pd.DataFrame", by: By = "item") -> "pd.DataFrame":
    """One row a group: runs, n (answers whose delay is known), quartiles, median and 95th
    percentile in seconds, from the end of the last challenge to the start of the answer; below 0
    where the answer began before the challenge was over.

    Quantiles are interpolated (definition 7 of Hyndman and Fan 1996, The American Statistician
    50(4), 361-365), as numpy, R and SQL's percentile_cont have them.
    """
    keys = group_columns(by)
    items = items_of(rows)
    timed = items[items["timed"] & items[keys].notna().all(axis=1)]
    grouped = timed.groupby(keys, observed=True, sort=False)
    seconds = grouped["delay_ms"]
    table = grouped["run"].nunique().to_frame("runs")
    table["n"] = seconds.size()
    for name, share in _QUANTILES.items():
        table[name] = seconds.quantile(share) / 1000
    return sort_groups(table.reset_index(), keys).reset_index(drop=True)
