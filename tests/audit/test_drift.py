"""Drifts: robust slopes against the definition and scipy."""

from datetime import UTC, datetime, timedelta
from itertools import combinations
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
from scipy.stats import theilslopes

from tests.audit.table import rows
from voxlog.audit.drift import BLOCKS, blocks, drift_lines, drifts, slope_of

START = datetime(2024, 1, 1, tzinfo=UTC)


def readings(values: Any, **more: Any) -> list[dict[str, Any]]:
    """A reading every tenth day."""
    plain = {"kind": "reading", "item": "saturation", "unit": "%", "status": ""}
    return [
        {**plain, "start": START + timedelta(days=10 * n), "value": float(value), **more}
        for n, value in enumerate(values)
    ]


def test_the_slope_is_the_median_of_all_pairs_with_the_interval_of_sen() -> None:
    """Sen 1968, section 3: the order statistics at (N -+ C) / 2 of the N slopes."""
    rng = np.random.default_rng(1968)
    times = np.sort(rng.uniform(0, 3, 60))
    values = 5 - 2 * times + rng.standard_t(2, 60)
    slope = slope_of(times, values)
    slopes = sorted(
        (values[b] - values[a]) / (times[b] - times[a]) for a, b in combinations(range(60), 2)
    )
    half = NormalDist().inv_cdf(0.975) * np.sqrt(60 * 59 * (2 * 60 + 5) / 18)
    assert slope.a_year == pytest.approx(np.median(slopes))
    assert slope.low == pytest.approx(slopes[round((len(slopes) - half) / 2) - 1])
    assert slope.high == pytest.approx(slopes[round((len(slopes) + half) / 2)])
    reference = theilslopes(values, times, 0.95)
    assert slope[:3] == pytest.approx((reference[0], reference[2], reference[3]))


def test_many_values_are_taken_in_groups_of_neighbours() -> None:
    values = np.arange(1000.0)
    found = blocks(values)
    assert len(found) == BLOCKS
    assert found[0] == np.median(values[:4])
    assert list(blocks(values[:BLOCKS])) == list(values[:BLOCKS])
    noisy = 3 * np.linspace(0, 2, 5000) + np.random.default_rng(1).normal(0, 4, 5000)
    slope = slope_of(np.linspace(0, 2, 5000), noisy)
    assert slope.low < 3 < slope.high
    assert slope.high - slope.low < 1


def test_a_fall_toward_the_lower_limit_is_found() -> None:
    rng = np.random.default_rng(2)
    falling = 95 - 0.1 * np.arange(80) + rng.normal(0, 0.5, 80)
    [row] = drifts(rows(*readings(falling, limit_low=75.0, limit_high=100.0))).to_dict("records")
    assert row["slope"] == pytest.approx(-0.1 * 36.525, abs=0.15)
    assert (row["limit"], row["is_found"]) == (75.0, True)
    assert row["years_to_limit"] == pytest.approx((75 - row["level"]) / row["slope"])
    assert row["level"] == pytest.approx(95 - 7.9, abs=0.3)


@pytest.mark.parametrize(
    ("values", "limits"),
    [
        (np.arange(40.0), {"limit_low": 0.0}),  # away from the only limit
        (np.arange(40.0), {}),  # no limit is known
        (np.tile([90.0, 91.0], 20), {"limit_low": 0.0, "limit_high": 100.0}),
        (np.full(40, 90.0), {"limit_low": 0.0, "limit_high": 100.0}),
    ],
)
def test_what_moves_toward_no_limit_is_not_found(values: Any, limits: dict[str, float]) -> None:
    table = drifts(rows(*readings(values, **limits)))
    assert not table["is_found"].any()


def test_a_single_wild_value_does_not_matter() -> None:
    calm = np.full(40, 90.0) + np.tile([0.0, 0.1], 20)
    wild = calm.copy()
    wild[-1] = 5000
    limits = {"limit_high": 100.0}
    slope = drifts(rows(*readings(wild, **limits)))["slope"].iloc[0]
    assert abs(slope) < 0.01


def test_beyond_its_limit_no_time_is_left() -> None:
    [row] = drifts(rows(*readings(np.arange(60.0, 101.0), limit_high=80.0))).to_dict("records")
    assert (row["years_to_limit"], row["is_found"]) == (0.0, True)


def test_few_values_and_values_at_one_time_have_no_slope() -> None:
    few = readings(np.arange(9.0), item="few")
    at_once = [{**row, "start": START} for row in readings(np.arange(20.0), item="at-once")]
    nowhere = [{**row, "start": None} for row in readings(np.arange(20.0), item="nowhere")]
    assert drifts(rows(*few, *at_once, *nowhere)).empty
    with pytest.raises(ValueError, match="two times"):
        slope_of(np.array([1.0, 1.0]), np.array([1.0, 2.0]))


def test_no_drawn_point_is_one_run_s() -> None:
    table = rows(*readings(95 - 0.2 * np.arange(23), limit_low=75.0))
    [line] = drift_lines(table, drifts(table), 5)
    assert len(line.median) == 4
    assert line.median[0] == pytest.approx(np.median(95 - 0.2 * np.arange(6)))
