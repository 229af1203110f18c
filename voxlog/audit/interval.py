"""Confidence intervals of rates.

Wilson's score interval (Wilson 1927, JASA 22(158), 209-212), without a correction for continuity:
it keeps its level for small counts and for rates near 0, where the textbook's rate plus or minus
two standard errors does not (Brown, Cai and DasGupta 2001, Statistical Science 16(2), 101-133).

Rows of one run are not independent: on a bad day several items go wrong. Where a group has more
than one row of a run, n is divided by the design effect, and the interval is Wilson's of what is
left (Korn and Graubard 1998, Survey Methodology 24(2), 193-201, have the effective sample size;
quoted from memory).
"""

from statistics import NormalDist
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from typing import Any

    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Whole = NDArray[np.integer[Any]]

__all__ = ["LEVEL", "design_effects", "wilson"]

LEVEL: Final = 0.95


def wilson(
    counts: "ArrayLike", sizes: "ArrayLike", level: float = LEVEL
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """Lower and upper limit of each rate counts/sizes, 0 to 1; not a number where a size is 0.

    counts and sizes need not be whole: an effective sample size is not.
    """
    import numpy as np

    k, n = np.asarray(counts, dtype=float), np.asarray(sizes, dtype=float)
    z = NormalDist().inv_cdf((1 + level) / 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = k / n
        middle = (rate + z**2 / (2 * n)) / (1 + z**2 / n)
        half = z / (1 + z**2 / n) * np.sqrt(rate * (1 - rate) / n + z**2 / (4 * n**2))
    low = np.where(k == 0, np.where(n > 0, 0.0, np.nan), np.clip(middle - half, 0, 1))
    high = np.where(k == n, np.where(n > 0, 1.0, np.nan), np.clip(middle + half, 0, 1))
    return low, high


def design_effects(
    groups: "Whole",
    clusters: "Whole",
    hits: "NDArray[np.bool_]",
    group_count: int,
) -> "NDArray[np.float64]":
    """By how much the variance of each group's rate exceeds that of independent rows; at least 1.

    For each row its group (0 to group_count - 1), its cluster (the run), and whether it counts.
    The variance between clusters is that of a ratio of sums, linearised (Rao and Scott 1992,
    Biometrics 48(2), 577-585), with the factor m / (m - 1) for m clusters.
    """
    import numpy as np

    key = groups.astype(np.int64) * (int(clusters.max(initial=0)) + 1) + clusters
    cells, of_row = np.unique(key, return_inverse=True)
    group = cells // (int(clusters.max(initial=0)) + 1)
    sizes = np.bincount(of_row, minlength=len(cells)).astype(float)
    sums = np.bincount(of_row, weights=hits, minlength=len(cells)).astype(np.float64)

    def total(values: "NDArray[np.float64]") -> "NDArray[np.float64]":
        return np.bincount(group, weights=values, minlength=group_count).astype(np.float64)

    n, k, m = total(sizes), total(sums), total(np.ones(len(cells)))
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = k / n
        spread = total((sums - rate[group] * sizes) ** 2) / n**2 * m / (m - 1)
        effect = spread / (rate * (1 - rate) / (n - 1))
    return np.where(np.isfinite(effect), np.maximum(effect, 1.0), 1.0)
