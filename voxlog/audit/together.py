"""Items that go wrong together: more often than the badness of the whole run explains.

On a bad day, with a new crew or in a noisy recording, everything goes wrong, so that nearly every
pair of items is associated. What is asked is whether two items go together beyond that: runs are
compared with runs in which as many of the other items went wrong. The method is that of
differential item functioning (Holland and Thayer 1988): the 2 by 2 tables of each such stratum,
the odds ratio of Mantel and Haenszel (1959, Journal of the National Cancer Institute 22(4),
719-748) with the interval of Robins, Breslow and Greenland (1986, Biometrics 42(2), 311-323), and
their test without a correction for continuity, one-sided.

Pairs are tested where the numbers suffice for it (Mantel and Fleiss 1980, American Journal of
Epidemiology 112(1), 129-134: the expected sum is 5 or more from either end of what is possible).
Thousands of pairs are looked at: p is adjusted to the false discovery rate of Benjamini and
Yekutieli (2001, Annals of Statistics 29(4), 1165-1188), which holds however the pairs depend on one
another; pairs that share an item do.
"""

from statistics import NormalDist
from typing import TYPE_CHECKING, Final, NamedTuple

from voxlog.audit.interval import LEVEL
from voxlog.audit.rows import items_of, natural_key

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    Matrix = NDArray[np.float64]

__all__ = ["DISCOVERIES", "together"]

DISCOVERIES: Final = 0.05
"""The share of false ones among the pairs that are named, at most, on average."""
_ENOUGH: Final = 5.0


class _Tables(NamedTuple):
    """For every pair of items: runs in which both, the first only, the second only, neither."""

    both: "Matrix"
    first: "Matrix"
    second: "Matrix"
    neither: "Matrix"


class _Sums(NamedTuple):
    """Sums over the strata, by pair; low and high: the least and most that both could be."""

    both: "Matrix"
    expected: "Matrix"
    variance: "Matrix"
    low: "Matrix"
    high: "Matrix"
    r: "Matrix"
    s: "Matrix"
    pr: "Matrix"
    mixed: "Matrix"
    qs: "Matrix"


def together(rows: "pd.DataFrame", level: float = LEVEL) -> "pd.DataFrame":
    """One row a tested pair of items of a sheet, the surest first.

    sheet, first, second; runs: that have both items; both: runs in which both went wrong;
    expected: how many of them the badness of the runs explains; odds_ratio with low, high;
    p_adjusted; is_found: it is at most DISCOVERIES.
    """
    import pandas as pd

    items = items_of(rows)
    parts = [
        _of_sheet(str(sheet), group, level)
        for sheet, group in items.groupby("sheet", observed=True, sort=True)
    ]
    table = pd.concat(parts, ignore_index=True) if parts else _empty()
    if table.empty:
        return _empty()
    from scipy.stats import false_discovery_control

    table["p_adjusted"] = false_discovery_control(table.pop("p"), method="by")
    table["is_found"] = table["p_adjusted"] <= DISCOVERIES
    return table.sort_values(["p_adjusted", "z"], ascending=[True, False], ignore_index=True).drop(
        columns="z"
    )


def _empty() -> "pd.DataFrame":
    import pandas as pd

    names = ("sheet", "first", "second", "runs", "both", "expected", "odds_ratio", "low", "high")
    return pd.DataFrame(columns=[*names, "p_adjusted", "is_found"])


def _of_sheet(sheet: str, rows: "pd.DataFrame", level: float) -> "pd.DataFrame":
    import numpy as np
    import pandas as pd
    from scipy.stats import norm

    names, wrong, there = _matrices(rows)
    sums, runs = _mantel_haenszel(wrong, there)
    upper = np.triu(np.ones(runs.shape, dtype=bool), 1)
    room = np.minimum(sums.expected - sums.low, sums.high - sums.expected)
    first, second = np.nonzero(upper & (room >= _ENOUGH) & (sums.s > 0) & (sums.r > 0))

    def of_pairs(matrix: "Matrix") -> "Matrix":
        return matrix[first, second]

    r, s = of_pairs(sums.r), of_pairs(sums.s)
    z = (of_pairs(sums.both) - of_pairs(sums.expected)) / np.sqrt(of_pairs(sums.variance))
    error = np.sqrt(
        of_pairs(sums.pr) / (2 * r**2)
        + of_pairs(sums.mixed) / (2 * r * s)
        + of_pairs(sums.qs) / (2 * s**2)
    )
    width = NormalDist().inv_cdf((1 + level) / 2) * error
    return pd.DataFrame(
        {
            "sheet": sheet,
            "first": [names[n] for n in first],
            "second": [names[n] for n in second],
            "runs": of_pairs(runs).astype(int),
            "both": of_pairs(sums.both).astype(int),
            "expected": of_pairs(sums.expected),
            "odds_ratio": r / s,
            "low": r / s * np.exp(-width),
            "high": r / s * np.exp(width),
            "p": norm.sf(z),
            "z": z,
        }
    )


def _matrices(rows: "pd.DataFrame") -> tuple[list[str], "Matrix", "Matrix"]:
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


def _mantel_haenszel(wrong: "Matrix", there: "Matrix") -> tuple[_Sums, "Matrix"]:
    """Sums over strata of runs with as many *other* items wrong, and each pair's runs.

    A run with t items wrong has t - 2 others where both of the pair are, t - 1 where one is, and t
    where neither is: the tables of a stratum are picked from those of three totals.
    """
    import numpy as np

    totals = wrong.sum(axis=1).astype(int)
    shape = (wrong.shape[1], wrong.shape[1])
    nothing = np.zeros(shape)
    by_total = {
        int(total): _tables(wrong[totals == total], there[totals == total])
        for total in np.unique(totals)
    }
    sums = _Sums(*(np.zeros(shape) for _ in _Sums._fields))
    runs = np.zeros(shape)
    strata = {max(total - others, 0) for total in by_total for others in (0, 1, 2)}
    for stratum in sorted(strata):
        at, one, two = (by_total.get(stratum + more) for more in (0, 1, 2))
        tables = _Tables(
            two.both if two else nothing,
            one.first if one else nothing,
            one.second if one else nothing,
            at.neither if at else nothing,
        )
        runs += sum(tables, start=nothing)
        sums = _Sums(*map(np.add, sums, _stratum(tables)))
    return sums, runs


def _tables(wrong: "Matrix", there: "Matrix") -> _Tables:
    right = there - wrong
    return _Tables(wrong.T @ wrong, wrong.T @ right, right.T @ wrong, right.T @ right)


def _stratum(tables: _Tables) -> _Sums:
    import numpy as np

    a, b, c, d = tables
    n = a + b + c + d
    row, column = a + b, a + c
    # A stratum of one run, or none, says nothing, and adds nothing.
    m = np.where(n > 1, n, np.inf)
    r, s, p, q = a * d / m, b * c / m, (a + d) / m, (b + c) / m
    is_used = n > 1
    return _Sums(
        both=a,
        expected=np.where(is_used, row * column / m, a),
        variance=row * (c + d) * column * (b + d) / (m**2 * (m - 1)),
        low=np.where(is_used, np.maximum(0, row + column - n), a),
        high=np.where(is_used, np.minimum(row, column), a),
        r=r,
        s=s,
        pr=p * r,
        mixed=p * s + q * r,
        qs=q * s,
    )
