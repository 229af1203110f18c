"""Expected pairs against counting all sets, and the odds against statsmodels."""

import warnings
from itertools import combinations
from math import prod

import numpy as np
import pytest
from statsmodels.discrete.conditional_models import ConditionalLogit

from voxlog.audit.badness import expected_pairs, pair_sums


def test_expected_pairs_are_those_of_all_sets_counted_one_by_one() -> None:
    odds = np.array([0.02, 0.5, 0.11, 40.0, 0.3, 1.7])
    scores = np.array([50.0, 40, 30, 0, 10, 5, 3])
    expected = np.zeros((6, 6))
    for score, runs in enumerate(scores):
        sets = list(combinations(range(6), score))
        total = sum(prod(odds[list(chosen)]) for chosen in sets)
        for chosen in sets:
            for i, j in combinations(chosen, 2):
                expected[i, j] += runs * prod(odds[list(chosen)]) / total
    np.testing.assert_allclose(pair_sums(odds, scores), expected, rtol=1e-12)


def drawn(runs: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Runs of two sheets, the second without the last item; of any badness."""
    rng = np.random.default_rng(seed)
    item = np.array([-3.0, -2.5, -2.0, -1.5, -2.2, -1.0])
    badness = rng.choice([-0.5, 0.0, 2.0], runs)
    wrong = rng.random((runs, 6)) < 1 / (1 + np.exp(-(item + badness[:, None])))
    there = np.ones((runs, 6))
    there[runs // 2 :, 5] = 0
    return wrong * there, there


def test_the_odds_are_those_of_a_conditional_logistic_regression() -> None:
    """The same model in another library: the odds give its probabilities of pairs."""
    wrong, there = drawn(400, seed=1)
    run, item = np.nonzero(there)
    dummies = (item[:, None] == np.arange(1, 6)).astype(float)
    with warnings.catch_warnings(action="ignore"):  # runs without or with only wrong items
        fit = ConditionalLogit(wrong[run, item], dummies, groups=run).fit(disp=False)
    odds = np.exp(np.append(0.0, fit.params))
    expected = np.zeros((6, 6))
    for layout in (slice(0, 200), slice(200, 400)):
        items = np.flatnonzero(there[layout][0])
        scores = np.bincount(wrong[layout].sum(axis=1).astype(int)).astype(float)
        expected[np.ix_(items, items)] += pair_sums(odds[items], scores)
    np.testing.assert_allclose(expected_pairs(wrong, there).pairs, expected, rtol=2e-4)


def test_badness_of_any_kind_explains_its_pairs() -> None:
    """Three kinds of runs, as no usual distribution has them; what happens is what is expected."""
    wrong, there = drawn(200_000, seed=2)
    found = expected_pairs(wrong, there)
    observed = np.triu(wrong.T @ wrong, 1)
    upper = np.triu_indices(6, 1)
    z = (observed[upper] - found.pairs[upper]) / np.sqrt(found.pairs[upper])
    assert np.abs(z).max() < 3
    independent = wrong.mean(axis=0)[0] * wrong.mean(axis=0)[1] * len(wrong)
    assert observed[0, 1] > 1.7 * independent


def test_a_hundred_unlike_items_lose_no_digits() -> None:
    """Where subtracting would lose all digits: one item nearly always wrong, one nearly never."""
    rng = np.random.default_rng(3)
    rates = np.append(rng.uniform(0.005, 0.2, 118), [0.97, 0.001])
    wrong = (rng.random((3000, 120)) < rates).astype(float)
    found = expected_pairs(wrong, np.ones_like(wrong)).pairs
    totals = wrong.sum(axis=1)
    # Of t wrong items there are t (t - 1) / 2 pairs, whichever they are.
    assert found.sum() == pytest.approx((totals * (totals - 1) / 2).sum(), rel=1e-9)
    observed = np.triu(wrong.T @ wrong, 1)
    assert np.abs((observed - found) / np.sqrt(found + 1)).max() < 5


def test_items_that_are_always_or_never_wrong_say_nothing() -> None:
    wrong, there = drawn(500, seed=4)
    wrong[:, 0], wrong[:, 1] = 1, 0
    found = expected_pairs(wrong, there).pairs
    assert found[0, 2] == wrong[:, 2].sum()
    assert not found[1].any()
    assert found[2, 3] > 0


def test_nothing_wrong_is_nothing_expected() -> None:
    assert not expected_pairs(np.zeros((5, 3)), np.ones((5, 3))).pairs.any()
