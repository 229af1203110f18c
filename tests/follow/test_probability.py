"""Evidence in nats to probabilities."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.follow.probability import best_of_each, log_odds, posterior, squash


@pytest.mark.parametrize(
    ("nats", "p"), [(0, 0.5), (math.log(3), 0.75), (-math.log(9), 0.1), (1e9, 1.0), (-1e9, 0.0)]
)
def test_squash(nats: float, p: float) -> None:
    assert squash(nats) == pytest.approx(p, abs=1e-12)


@given(st.floats(-25, 25))
def test_log_odds_are_what_squash_made_a_probability_of(nats: float) -> None:
    assert log_odds(squash(nats)) == pytest.approx(nats, abs=1e-4)


@pytest.mark.parametrize(("p", "nats"), [(0.0, -30.0), (1.0, 30.0), (0.75, math.log(3))])
def test_log_odds_are_finite(p: float, nats: float) -> None:
    assert log_odds(p) == pytest.approx(nats, abs=1e-2)


@pytest.mark.parametrize(
    ("evidence", "expected"),
    [
        ({"a": 4.0}, {"a": 1.0}),
        ({"a": 4.0, "b": 4.0}, {"a": 0.5, "b": 0.5}),
        ({"a": math.log(3), "b": 0.0}, {"a": 0.75, "b": 0.25}),
        ({"a": 5000.0, "b": -5000.0}, {"a": 1.0, "b": 0.0}),
    ],
)
def test_posterior(evidence: dict[str, float], expected: dict[str, float]) -> None:
    assert posterior(evidence) == pytest.approx(expected)


@given(st.dictionaries(st.integers(), st.floats(-50, 50), min_size=1))
def test_a_posterior_sums_to_one_and_keeps_the_order(evidence: dict[int, float]) -> None:
    found = posterior(evidence)
    assert sum(found.values()) == pytest.approx(1)
    assert max(found.values()) == found[max(evidence, key=lambda key: evidence[key])]


def test_best_of_each() -> None:
    assert best_of_each([("a", -3.0), ("b", 1.0), ("a", -2.0)]) == {"a": -2.0, "b": 1.0}
