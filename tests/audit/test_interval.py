"""Intervals against the published examples and against statsmodels."""

import numpy as np
import pytest
from statsmodels.regression.linear_model import OLS
from statsmodels.stats.proportion import proportion_confint

from voxlog.audit.interval import design_effects, wilson


@pytest.mark.parametrize(
    ("count", "size", "low", "high"),
    [
        # Newcombe 1998, Statistics in Medicine 17(8), 857-872, table I, method 3 (from memory).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_published_intervals(count: int, size: int, low: float, high: float) -> None:
    found = [float(limit) for limit in wilson(count, size)]
    assert [round(limit, 4) for limit in found] == [low, high]


@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
def test_another_library_has_the_same_intervals(level: float) -> None:
    sizes = np.repeat([1, 2, 7, 50, 1000, 896_400], 4)
    counts = (sizes * np.tile([0, 0.02, 0.5, 1], 6)).astype(int)
    low, high = wilson(counts, sizes, level)
    expected = proportion_confint(counts, sizes, 1 - level, "wilson")
    np.testing.assert_allclose(low, expected[0], atol=1e-12)
    np.testing.assert_allclose(high, expected[1], atol=1e-12)


def test_nothing_seen_says_nothing() -> None:
    low, high = wilson([0], [0])
    assert np.isnan(low[0]) and np.isnan(high[0])


def test_the_design_effect_is_that_of_a_regression_with_clusters() -> None:
    """statsmodels: the variance of a mean with clusters over that without."""
    rng = np.random.default_rng(7)
    run = np.repeat(np.arange(40), rng.integers(1, 30, 40))
    hit = rng.random(len(run)) < rng.beta(0.5, 2, 40)[run]
    fit = OLS(hit.astype(float), np.ones(len(run))).fit(
        cov_type="cluster", cov_kwds={"groups": run}
    )
    rate = hit.mean()
    alone = rate * (1 - rate) / (len(run) - 1)
    # statsmodels' small-sample factor is m / (m - 1) (n - 1) / (n - 1) here, as ours.
    expected = float(fit.bse[0]) ** 2 / alone
    [found] = design_effects(np.zeros(len(run), dtype=int), run, hit, 1)
    assert expected > 2
    assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("runs", "hits"),
    [
        ([0, 1, 2, 3], [1, 0, 0, 1]),  # one row a run
        ([0, 0, 1, 1], [1, 0, 0, 1]),  # rows of a run differ more than others: never under 1
        ([0, 0, 1, 1], [0, 0, 0, 0]),  # nothing varies
        ([0], [1]),
        ([], []),
    ],
)
def test_rows_that_do_not_go_together_have_no_effect(runs: list[int], hits: list[int]) -> None:
    group = np.zeros(len(runs), dtype=int)
    found = design_effects(group, np.array(runs, dtype=int), np.array(hits, dtype=bool), 1)
    assert list(found) == pytest.approx([1.0])


def test_a_run_that_is_wholly_right_or_wrong_counts_once() -> None:
    run = np.repeat(np.arange(100), 10)
    hit = run % 5 == 0
    [found] = design_effects(np.zeros(1000, dtype=int), run, hit, 1)
    assert found == pytest.approx(10, rel=0.02)
