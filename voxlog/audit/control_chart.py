"""The control chart of a proportion (p-chart) for samples of different sizes, and its run rules.

Centre: all counts over all sizes. Limits: three standard deviations of a binomial proportion of
that sample's size (Shewhart 1931; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2), never
below 0 or above 1. A point whose size is 0 stands in no rule.

Which rules, of the Western Electric Statistical Quality Control Handbook (1956):

    1  one point beyond three standard deviations: something happened then
    4  eight points in a row on one side of the centre: the rate has moved, and stayed there

With sizes that differ the rules are read on z, the distance from the centre in standard deviations
of the point's own size (Nelson 1984, Journal of Quality Technology 16(4), 237-239, reads his tests
on standardised points). Rules 2 and 3 (two of three beyond two, four of five beyond one) are left
out: their zones suppose a symmetric distribution, which a rare event's rate has not, and every rule
adds false alarms. With rule 1 alone one comes in 370 points, with 1 and 4 in 153, with all four in
92 (Champ and Woodall 1987, Technometrics 29(4), 393-399). Nelson's test 3, six points rising, is
left out because it hardly finds a trend that the others miss (Davis and Woodall 1988, Journal of
Quality Technology 20(4), 260-262; both from memory).
"""

from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

__all__ = ["POINTS_A_FALSE_ALARM", "RULES", "ControlChart", "p_chart"]

RULES: Final = {
    "beyond": "Western Electric rule 1: beyond three standard deviations",
    "run": "Western Electric rule 4: the eighth in a row, or later, on one side of the centre",
}
POINTS_A_FALSE_ALARM: Final = 153
"""Points from one false alarm to the next where nothing changes, with these two rules."""

_SIGMAS: Final = 3.0
_IN_A_ROW: Final = 8
_SPREAD_OF_TWO: Final = 1.128
"""Mean distance of two standard normal numbers, 2 / sqrt(pi): d2 of moving ranges of two."""


class ControlChart(NamedTuple):
    """A chart's points in order of time. rate, lower and upper are 0 to 1.

    beyond, run: where a rule gives a signal. overdispersion: how many times wider than chance the
    points scatter from one to the next (sigma_z of Laney 2002, Quality Engineering 14(4), 531-537);
    well above 1, the limits are too narrow and signals come too easily. Not a number for less than
    three points.
    """

    rate: "NDArray[np.float64]"
    centre: float
    lower: "NDArray[np.float64]"
    upper: "NDArray[np.float64]"
    z: "NDArray[np.float64]"
    beyond: "NDArray[np.bool_]"
    run: "NDArray[np.bool_]"
    overdispersion: float

    @property
    def has_signal(self) -> bool:
        return bool(self.beyond.any() or self.run.any())


def p_chart(counts: "ArrayLike", sizes: "ArrayLike", design_effect: float = 1.0) -> ControlChart:
    """The chart of counts of sizes. design_effect: of rows that go wrong together, as interval.py
    has it; sizes count as so many times fewer for the limits.

    ValueError where there is nothing to count, or a count is not among its size.
    """
    import numpy as np

    k, n = np.asarray(counts, dtype=float), np.asarray(sizes, dtype=float)
    if k.shape != n.shape or n.sum() <= 0 or (k < 0).any() or (k > n).any():
        raise ValueError("a chart needs counts from 0 to their sizes, and a size above 0")
    centre = float(k.sum() / n.sum())
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = k / n
        deviation = np.sqrt(centre * (1 - centre) * design_effect / n)
        z = np.where(deviation > 0, (rate - centre) / deviation, 0.0)
    z = np.where(n > 0, z, np.nan)
    width = _SIGMAS * np.where(n > 0, deviation, np.nan)
    return ControlChart(
        rate=rate,
        centre=centre,
        lower=np.maximum(centre - width, 0.0),
        upper=np.minimum(centre + width, 1.0),
        z=z,
        beyond=np.abs(np.nan_to_num(z)) > _SIGMAS,
        run=_ends_of_runs(z),
        overdispersion=_overdispersion(z),
    )


def _ends_of_runs(z: "NDArray[np.float64]") -> "NDArray[np.bool_]":
    """Where so many points in a row, this the last, lie on one side; on the centre is neither."""
    import numpy as np

    found = np.zeros(len(z), dtype=bool)
    side, length = 0.0, 0
    for place, sign in enumerate(np.sign(z)):
        if np.isnan(sign):
            continue
        length = length + 1 if sign and sign == side else int(sign != 0)
        side = sign
        found[place] = length >= _IN_A_ROW
    return found


def _overdispersion(z: "NDArray[np.float64]") -> float:
    import numpy as np

    known = z[~np.isnan(z)]
    if len(known) < 3:
        return float("nan")
    return float(np.abs(np.diff(known)).mean() / _SPREAD_OF_TWO)
