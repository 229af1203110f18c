"""Control charts against published worked examples, and the run rules against their published
rate of false alarms."""

import numpy as np
import pytest

from voxlog.audit.control_chart import POINTS_A_FALSE_ALARM, p_chart

# Purchase orders of 25 weeks: Montgomery, Introduction to Statistical Quality Control, the example
# of a p-chart with variable sample size. The data also stand in Maple's help for PControlLimits.
ORDERS = (
    *(100, 80, 80, 100, 110, 110, 100, 100, 90, 90, 110, 120, 120),
    *(120, 110, 80, 80, 80, 90, 100, 100, 100, 100, 90, 90),
)
ORDERS_WRONG = (
    *(12, 8, 6, 9, 10, 12, 11, 16, 10, 6, 20, 15, 9),
    *(8, 6, 8, 10, 7, 5, 8, 5, 8, 10, 6, 9),
)
# Chips on 30 wafers of 50: NIST/SEMATECH e-Handbook 6.3.3.2; its mean is 0.2313.
WAFERS = (
    *(12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22),
    *(8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6),
)
# Bruised peaches of 25 shipments, one or two crates of 250: Pyzdek and Keller, The Handbook for
# Quality Management, table 9.6 (1,544 of 8,000).
PEACHES = (
    *(47, 42, 55, 51, 46, 61, 39, 44, 41, 51, 88, 101, 101),
    *(40, 48, 47, 50, 48, 57, 45, 43, 105, 98, 100, 96),
)
CRATES = (1,) * 10 + (2,) * 3 + (1,) * 8 + (2,) * 4


def test_purchase_orders_of_different_numbers() -> None:
    chart = p_chart(ORDERS_WRONG, ORDERS)
    assert chart.centre == pytest.approx(234 / 2450)
    # Maple's limits are for 99.73 %, which is 2.99998 standard deviations.
    assert chart.lower[[0, 1, 4]] == pytest.approx([0.0073347, 0, 0.0114382], abs=2e-5)
    assert chart.upper[[0, 1]] == pytest.approx([0.1836857, 0.1940934], abs=2e-5)
    assert [n + 1 for n in np.flatnonzero(chart.beyond)] == [11]


def test_wafers_of_one_size() -> None:
    chart = p_chart(WAFERS, [50] * 30)
    assert round(chart.centre, 4) == 0.2313
    assert (round(chart.lower[0], 4), round(chart.upper[0], 4)) == (0.0524, 0.4102)
    assert [n + 1 for n in np.flatnonzero(chart.beyond)] == [15, 23]


def test_peaches_are_in_control() -> None:
    sizes = [250 * crates for crates in CRATES]
    chart = p_chart(PEACHES, sizes)
    assert (sum(PEACHES), sum(sizes)) == (1544, 8000)
    assert round(chart.centre, 3) == 0.193
    # The limits printed there, for one crate and for two (from memory).
    assert chart.lower[[0, 10]] == pytest.approx([0.118, 0.140], abs=6e-4)
    assert chart.upper[[0, 10]] == pytest.approx([0.268, 0.246], abs=6e-4)
    assert not chart.beyond.any()


def test_rules_1_and_4_give_the_published_false_alarms() -> None:
    """Champ and Woodall 1987: 152.73 points on average, for normal points in control."""
    rng = np.random.default_rng(1956)
    size = 10**8  # so many that a proportion is as good as normal
    lengths = []
    for counts in rng.binomial(size, 0.5, (600, 1500)):
        chart = p_chart(
            np.append(counts, size * len(counts) - counts.sum()), [size] * 1500 + [size * 1500]
        )
        signals = np.flatnonzero(chart.beyond | chart.run)
        lengths.append(signals[0] + 1)
    error = np.std(lengths) / np.sqrt(len(lengths))
    assert abs(np.mean(lengths) - 152.73) < 3 * error
    assert round(152.73) == POINTS_A_FALSE_ALARM


UP, DOWN, ON = 60, 40, 50


@pytest.mark.parametrize(
    ("counts", "ends"),
    [
        ([UP] * 7 + [DOWN] * 7, []),
        ([UP] * 8 + [DOWN] * 8, [7, 15]),
        ([UP] * 9 + [DOWN] * 7 + [UP, DOWN] * 2 + [DOWN] * 2, [7, 8]),
        # A point on the centre is on neither side, and breaks a run.
        ([UP] * 4 + [ON] + [UP] * 4 + [DOWN] * 8, [16]),
    ],
)
def test_the_eighth_on_one_side_is_a_signal(counts: list[int], ends: list[int]) -> None:
    chart = p_chart(
        [*counts, 10_000 * 100 // 2 - sum(counts) + 50 * len(counts)],
        [
            *([100] * len(counts)),
            10_000 * 100,
        ],
    )
    assert chart.centre == pytest.approx(0.5)
    assert list(np.flatnonzero(chart.run[: len(counts)])) == ends


def test_a_period_without_anything_stands_in_no_rule() -> None:
    chart = p_chart([60] * 4 + [0] + [60] * 4 + [40] * 8, [100] * 4 + [0] + [100] * 12)
    assert np.isnan(chart.rate[4]) and np.isnan(chart.upper[4])
    assert chart.run[8] and not chart.beyond[4]


def test_nothing_and_everything_have_no_limits_to_leave() -> None:
    for count in (0, 20):
        chart = p_chart([count] * 9, [20] * 9)
        assert not chart.beyond.any() and not chart.run.any()


def test_a_design_effect_widens_the_limits() -> None:
    plain, wide = p_chart(WAFERS, [50] * 30), p_chart(WAFERS, [50] * 30, 4.0)
    assert wide.upper[0] - wide.centre == pytest.approx(2 * (plain.upper[0] - plain.centre))
    assert not wide.beyond.any()


def test_overdispersion_is_one_for_chance_and_more_for_more() -> None:
    rng = np.random.default_rng(2002)
    sizes = rng.integers(2000, 8000, 4000)
    chance = p_chart(rng.binomial(sizes, 0.1), sizes)
    more = p_chart(rng.binomial(sizes, rng.normal(0.1, 0.01, 4000)), sizes)
    assert chance.overdispersion == pytest.approx(1, abs=0.03)
    # sqrt(1 + (0.01 / sd)^2) with sd for the mean size.
    assert more.overdispersion > 2
    assert np.isnan(p_chart([1, 2], [10, 10]).overdispersion)


@pytest.mark.parametrize(("counts", "sizes"), [([], []), ([0], [0]), ([3], [2]), ([-1], [2])])
def test_what_cannot_be_counted_is_refused(counts: list[int], sizes: list[int]) -> None:
    with pytest.raises(ValueError, match="counts"):
        p_chart(counts, sizes)
