"""Items that go wrong together: more often than the badness of the whole run explains.

On a bad day, with a new crew or in a noisy recording, everything goes wrong, so that nearly every
pair of items is associated. What is asked is whether two items go together beyond that: badness.py
says in how many runs both would go wrong if nothing but the run's badness joined them.

p is the probability of so many or more under a Poisson distribution with that mean; the true one,
of a sum of rare events, is a little narrower, so that p errs on the safe side. The ratio of both to
expected has the exact interval of a Poisson mean (Garwood 1936, Biometrika 28(3/4), 437-442).

Thousands of pairs are looked at: p is adjusted to the false discovery rate of Benjamini and
Yekutieli (2001, Annals of Statistics 29(4), 1165-1188), which holds however the pairs depend on one
another; pairs that share an item do.
"""

from typing import TYPE_CHECKING, Final

from voxlog.audit.badness import expected_pairs
from voxlog.audit.interval import LEVEL
from voxlog.audit.rows import items_of, natural_key

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

__all__ = ["DISCOVERIES", "together"]

DISCOVERIES: Final = 0.05
"""The share of false ones among the pairs that are named, at most, on average."""
_COLUMNS: Final = (
    *("sheet", "first", "second", "runs", "both", "expected", "ratio", "low", "high"),
    *("p_adjusted", "is_found"),
)


def together(rows: "pd.DataFrame", level: float = LEVEL) -> "pd.DataFrame":
    """One row a pair of items of a sheet that both went wrong at some time, the surest first.

    sheet, first, second; runs: that have both items; both: runs in which both went wrong;
    expected: how many of them the badness of the runs explains; ratio: both to expected, with low,
    high; p_adjusted; is_found: it is at most DISCOVERIES.
    """
    import pandas as pd

    parts = [
        part
        for sheet, group in items_of(rows).groupby("sheet", observed=True, sort=True)
        if len(part := _of_sheet(str(sheet), group, level))
    ]
    if not parts:
        return pd.DataFrame(columns=list(_COLUMNS)).astype({"is_found": bool})
    from scipy.stats import false_discovery_control

    table = pd.concat(parts, ignore_index=True)
    table["p_adjusted"] = false_discovery_control(table.pop("p"), method="by")
    table["is_found"] = table["p_adjusted"] <= DISCOVERIES
    return table.sort_values(["p_adjusted", "low"], ascending=[True, False], ignore_index=True)


def _of_sheet(sheet: str, rows: "pd.DataFrame", level: float) -> "pd.DataFrame":
    import numpy as np
    import pandas as pd
    from scipy.stats import chi2, poisson

    names, wrong, there = _matrices(rows)
    fitted = expected_pairs(wrong, there)
    observed = np.triu(wrong.T @ wrong, 1)
    first, second = np.nonzero(np.triu(fitted.pairs, 1) > 0)
    both, expected = observed[first, second], fitted.pairs[first, second]
    tail = (1 - level) / 2
    return pd.DataFrame(
        {
            "sheet": sheet,
            "first": [names[n] for n in first],
            "second": [names[n] for n in second],
            "runs": fitted.runs[first, second].astype(int),
            "both": both.astype(int),
            "expected": expected,
            "ratio": both / expected,
            "low": np.where(both > 0, chi2.ppf(tail, 2 * both) / 2, 0) / expected,
            "high": chi2.isf(tail, 2 * both + 2) / 2 / expected,
            "p": poisson.sf(both - 1, expected),
        }
    )


def _matrices(
    rows: "pd.DataFrame",
) -> "tuple[list[str], NDArray[np.float64], NDArray[np.float64]]":
    """Items in order, and runs by items: went wrong, and is there at all; 0 or 1."""
    import numpy as np

    codes = rows["item"].cat.codes.to_numpy()
    categories = rows["item"].cat.categories
    present = sorted(np.unique(codes), key=lambda code: natural_key(categories[code]))
    place = np.full(len(categories), -1)
    place[present] = np.arange(len(present))
    run = np.unique(rows["run"].cat.codes.to_numpy(), return_inverse=True)[1]
    wrong = np.zeros((int(run.max(initial=-1)) + 1, len(present)))
    there = np.zeros_like(wrong)
    there[run, place[codes]] = 1
    hit = rows["wrong"].to_numpy(dtype=bool)
    wrong[run[hit], place[codes[hit]]] = 1
    return [str(categories[code]) for code in present], wrong, there
