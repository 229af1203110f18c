"""How often two items go wrong in the same run if nothing but the badness of the run joins them.

That is the model of Rasch (1960): each item has its own odds, each run its own factor on the odds
of all items. Given how many items went wrong in a run, which ones says nothing of that factor any
more (Andersen 1970, JRSS B 32(2), 283-301), so nothing need be supposed about how bad runs are.
With odds e and the elementary symmetric functions g_t of them, the sums over all sets of t items of
the products of their odds,

    P(i and j wrong | t wrong) = e_i e_j g_(t-2)(all but i and j) / g_t(all).

The odds are fitted by conditional maximum likelihood: as many wrong of each item as there were.
Comparing pairs with this is the idea of van den Wollenberg's Q2 (1982, Psychometrika 47(2),
123-140). All sums here are of positive terms, so that nothing cancels however unlike the items are.
"""

from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["Expected", "expected_pairs", "item_odds", "pair_sums"]

_ROUNDS: Final = 500
_CLOSE: Final = 1e-9
"""Relative difference of the fitted from the true counts at which the fit ends."""


class Expected(NamedTuple):
    """Items by items, above the diagonal: the expected runs with both of a pair wrong, and the
    runs that have both items.
    """

    pairs: "Floats"
    runs: "Floats"


class _Layout(NamedTuple):
    """Runs with the same items: these, and how many runs have 0, 1, 2 ... of them wrong."""

    items: "NDArray[np.intp]"
    scores: "Floats"


def expected_pairs(wrong: "Floats", there: "Floats") -> Expected:
    """For runs by items of 0 and 1: went wrong, and is on the run's sheet at all.

    An item that went wrong in every run, or in none, has no odds: it is left out, and pairs with it
    are expected as often as they happen.
    """
    import numpy as np

    counts, sizes = wrong.sum(axis=0), there.sum(axis=0)
    varies = np.flatnonzero((counts > 0) & (counts < sizes))
    pairs = np.triu(wrong.T @ wrong, 1)
    runs = np.triu(there.T @ there, 1)
    if not len(varies):
        return Expected(pairs, runs)
    layouts = _layouts(wrong[:, varies], there[:, varies])
    odds = item_odds(layouts, counts[varies])
    fitted = np.zeros((len(varies), len(varies)))
    for layout in layouts:
        fitted[np.ix_(layout.items, layout.items)] += pair_sums(odds[layout.items], layout.scores)
    pairs[np.ix_(varies, varies)] = fitted
    return Expected(pairs, runs)


def item_odds(layouts: "list[_Layout]", counts: "Floats") -> "Floats":
    """The conditional maximum likelihood odds of items with these counts, up to a common factor."""
    import numpy as np

    runs = sum(layout.scores.sum() for layout in layouts)
    odds: Floats = counts / runs
    for _ in range(_ROUNDS):
        sums = np.zeros(len(odds))
        for layout in layouts:
            sums[layout.items] += _item_sums(odds[layout.items], layout.scores)
        fitted = odds * sums
        odds = counts / sums
        # The factor is free: this one keeps all powers within what a float can hold.
        odds *= counts.sum() / runs / odds.sum()
        if np.allclose(fitted, counts, rtol=_CLOSE, atol=0):
            break
    return odds


def pair_sums(odds: "Floats", scores: "Floats") -> "Floats":
    """Expected runs with both wrong, for each pair above the diagonal.

    scores: how many runs have 0, 1, 2 ... of the items wrong.
    """
    import numpy as np

    before, after = _products(odds, len(scores))
    ratio = _ratio(scores, before[-1])
    # others[i]: the product over all items so far but i.
    others = np.zeros((len(odds), len(scores)))
    expected = np.zeros((len(odds), len(odds)))
    weights = _hankel(ratio, 2) @ after[1:].T
    for j, odd in enumerate(odds):
        expected[:j, j] = odds[:j] * odd * (others[:j] @ weights[:, j])
        others[:j, 1:] += odd * others[:j, :-1]
        others[j] = before[j]
    return expected


def _item_sums(odds: "Floats", scores: "Floats") -> "Floats":
    """Expected runs with the item wrong, divided by its odds, for each item."""
    import numpy as np

    before, after = _products(odds, len(scores))
    weights = _hankel(_ratio(scores, before[-1]), 1)
    sums: Floats = np.einsum("ia,ab,ib->i", before[:-1], weights, after[1:], optimize=True)
    return sums


def _products(odds: "Floats", width: int) -> "tuple[Floats, Floats]":
    """Symmetric functions of degree 0 to width - 1, of the first n items, and of all from n on."""
    import numpy as np

    before = np.zeros((len(odds) + 1, width))
    after = np.zeros_like(before)
    before[0, 0] = after[-1, 0] = 1
    for n, odd in enumerate(odds):
        before[n + 1] = before[n]
        before[n + 1, 1:] += odd * before[n, :-1]
    for n in range(len(odds) - 1, -1, -1):
        after[n] = after[n + 1]
        after[n, 1:] += odds[n] * after[n + 1, :-1]
    return before, after


def _ratio(scores: "Floats", symmetric: "Floats") -> "Floats":
    import numpy as np

    return np.divide(scores, symmetric, out=np.zeros(len(scores)), where=scores > 0)


def _hankel(ratio: "Floats", shift: int) -> "Floats":
    """Row a, column b: the ratio at a + b + shift, 0 beyond its end."""
    import numpy as np

    width = len(ratio)
    place = np.add.outer(np.arange(width), np.arange(width)) + shift
    matrix: Floats = np.append(ratio, 0.0)[np.minimum(place, width)]
    return matrix


def _layouts(wrong: "Floats", there: "Floats") -> "list[_Layout]":
    import numpy as np

    patterns, of_run = np.unique(there.astype(bool), axis=0, return_inverse=True)
    totals = wrong.sum(axis=1).astype(int)
    return [
        _Layout(
            np.flatnonzero(pattern),
            np.bincount(totals[of_run.ravel() == place]).astype(np.float64),
        )
        for place, pattern in enumerate(patterns)
    ]
