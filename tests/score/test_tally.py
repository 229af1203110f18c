"""Ratios of nothing are None; the percentile is numpy's."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.score.tally import Ratio, Tally, TimeError


@pytest.mark.parametrize(
    ("tally", "precision", "recall", "f1"),
    [
        (Tally(0, 0, 0), None, None, None),
        (Tally(0, 2, 0), 0.0, None, 0.0),
        (Tally(0, 0, 3), None, 0.0, 0.0),
        (Tally(3, 0, 0), 1.0, 1.0, 1.0),
        (Tally(2, 2, 0), 0.5, 1.0, 2 / 3),
        (Tally(2, 1, 6), 2 / 3, 0.25, 4 / 11),
    ],
)
def test_precision_recall_f1(
    tally: Tally, precision: float | None, recall: float | None, f1: float | None
) -> None:
    assert (tally.precision, tally.recall, tally.f1) == (precision, recall, f1)
    if precision and recall:
        assert f1 == pytest.approx(2 * precision * recall / (precision + recall))


def test_a_share_of_nothing_is_none() -> None:
    assert Ratio(0, 0).share is None
    assert Ratio(0, 4).share == 0
    assert Ratio(3, 4).share == 0.75


@given(st.lists(st.floats(0, 100), min_size=1, max_size=50))
def test_time_error_is_numpys(distances: list[float]) -> None:
    error = TimeError.of(distances)
    assert error.count == len(distances)
    assert error.median_s == pytest.approx(np.percentile(distances, 50))
    assert error.p95_s == pytest.approx(np.percentile(distances, 95))


def test_time_error_of_nothing() -> None:
    assert TimeError.of([]) == TimeError(0, None, None)
