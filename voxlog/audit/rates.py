"""Rates of what is left out, out of order, unconfirmed or answered too fast, by group."""

from typing import TYPE_CHECKING, Final, Literal

from voxlog.audit.distinct import distinct_counts
from voxlog.audit.interval import LEVEL, design_effects, wilson
from voxlog.audit.rows import MEASURES, items_of, natural_key

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

__all__ = ["BY", "DISCOVERIES", "GROUPS", "By", "group_columns", "rates", "sort_groups"]

By = Literal["item", "position", "crew", "month"]

GROUPS: Final[dict[By, tuple[str, ...]]] = {
    "item": ("sheet", "item"),
    "position": ("sheet", "position"),
    "crew": ("crew",),
    "month": ("month",),
}
"""The columns that make a group: an item or a position is one of its sheet."""

BY: Final = tuple(GROUPS)
DISCOVERIES: Final = 0.05


def group_columns(by: By) -> list[str]:
    return list(GROUPS[by])


def rates(rows: "pd.DataFrame", by: By = "item", level: float = LEVEL) -> "pd.DataFrame":
    """One row a group and measure, of prepared rows (rows.prepare).

    The group's columns, then measure; runs: how many runs have such a row; n: rows that can count;
    count; rate and its interval low, high (interval.py); design_effect; errors: how many of the
    counted rows are expected to be the recogniser's error, the sum of their doubt; p_adjusted,
    is_high: whether the rate is above that of all rows together.

    is_high is the exact binomial test of the group's rate against the rate of all, one-sided, with
    count and n divided by the design effect, adjusted over the groups to the false discovery rate
    DISCOVERIES (Benjamini and Hochberg 1995, JRSS B 57(1),
    289-300).
    """
    import numpy as np
    import pandas as pd

    items = items_of(rows)
    keys = group_columns(by)
    items = items[items[keys].notna().all(axis=1)]
    number = items.groupby(keys, observed=True, sort=False).ngroup().to_numpy()
    names = items.loc[~pd.Series(number, index=items.index).duplicated(), keys]
    count_of = len(names)
    runs = items["run"].cat.codes.to_numpy()
    doubt = items["doubt"].to_numpy(dtype=float)
    parts = []
    for measure in MEASURES:
        can = items[measure.among].to_numpy() if measure.among else np.ones(len(items), bool)
        hit = items[measure.name].to_numpy()[can]
        group, run = number[can], runs[can]
        n = np.bincount(group, minlength=count_of)
        count = np.bincount(group, weights=hit, minlength=count_of).astype(int)
        effect = design_effects(group, run, hit, count_of)
        low, high = wilson(count / effect, n / effect, level)
        part = names.assign(
            measure=measure.name,
            runs=distinct_counts(group, run, count_of),
            n=n,
            count=count,
            rate=np.divide(count, n, out=np.full(count_of, np.nan), where=n > 0),
            low=low,
            high=high,
            design_effect=effect,
            errors=np.bincount(group, weights=hit * doubt[can], minlength=count_of),
            p_adjusted=_p_of_more(count, n, effect),
        )
        part["is_high"] = part["p_adjusted"] <= DISCOVERIES
        parts.append(part)
    return sort_groups(pd.concat(parts), keys).reset_index(drop=True)


def _p_of_more(
    count: "NDArray[np.intp]", n: "NDArray[np.intp]", effect: "NDArray[np.float64]"
) -> "NDArray[np.float64]":
    """Adjusted; not a number for a group without rows."""
    import numpy as np
    from scipy.special import betainc
    from scipy.stats import false_discovery_control

    adjusted = np.full(len(n), np.nan)
    some = n > 0
    if not some.any():
        return adjusted
    hits, size = count[some] / effect[some], n[some] / effect[some]
    # The probability of so many or more, as a beta integral, which need not have whole numbers.
    tail = betainc(np.maximum(hits, 1e-9), size - hits + 1, count.sum() / n.sum())
    adjusted[some] = false_discovery_control(np.where(hits > 0, tail, 1.0), method="bh")
    return adjusted


def sort_groups(table: "pd.DataFrame", keys: list[str]) -> "pd.DataFrame":
    """By the group's columns, numbers as numbers, then as the rows stood."""
    import pandas as pd

    places = {
        key: {
            name: place for place, name in enumerate(sorted(table[key].unique(), key=natural_key))
        }
        for key in keys
    }
    order = pd.DataFrame({key: [places[key][name] for name in table[key]] for key in keys})
    order.index = pd.RangeIndex(len(table))
    return table.iloc[order.sort_values(keys, kind="stable").index]
