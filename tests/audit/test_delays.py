"""Delays of answers."""

import numpy as np
import pytest

from tests.audit.table import rows
from voxlog.audit.delays import delays


def test_quantiles_are_those_of_numpy() -> None:
    rng = np.random.default_rng(5)
    seconds = rng.lognormal(0, 0.5, 137).round(3)
    given = [{"item": "9", "delay_ms": second * 1000} for second in seconds]
    [row] = delays(rows(*given, {"item": "9"})).to_dict("records")
    assert (row["runs"], row["n"]) == (137, 137)
    names = ("lower_quartile_s", "median_s", "upper_quartile_s", "p95_s")
    expected = np.quantile(seconds, [0.25, 0.5, 0.75, 0.95])
    assert [row[name] for name in names] == pytest.approx(list(expected))


def test_groups_are_in_order_and_those_without_a_delay_left_out() -> None:
    table = delays(rows(*({"item": item, "delay_ms": 1000.0} for item in ("10", "9")), {}))
    assert list(table["item"]) == ["9", "10"]


def test_without_any_delay_there_is_no_row() -> None:
    assert delays(rows({}, {})).empty
