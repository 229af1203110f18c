"""Limits in another unit let nothing pass that did not pass before."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.learn.unit import NAMES, converted_limits, named_unit, nice_step


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        # NIST Special Publication 811 (2008), appendix B.8, as far as its digits go.
        (1.0, "psi", "kPa", 6.894757),
        (1.0, "bar", "kPa", 100.0),
        (1.0, "atm", "kPa", 101.325),
        (1.0, "mmHg", "kPa", 0.1333224),
        (1.0, "ft", "m", 0.3048),
        (2.0, "min", "s", 120.0),
        (760.0, "mmHg", "atm", 1.0),
    ],
)
def test_factors(value: float, unit: str, to: str, expected: float) -> None:
    """With a step of a thousandth, the least there is, a limit is the number itself."""
    limits = converted_limits({"step": 1e-9, "low": value, "high": value}, unit, to)
    assert limits is not None
    assert limits["low"] == pytest.approx(expected, abs=0.0011)
    assert limits["low"] <= expected + 2e-6
    assert limits["high"] >= expected - 2e-6


@pytest.mark.parametrize(("unit", "to"), [("psi", "ft"), ("psi", "bpm"), ("%", "bar"), ("x", "y")])
def test_what_cannot_be_converted_is_not(unit: str, to: str) -> None:
    assert converted_limits({"step": 1.0, "min": 1.0}, unit, to) is None


def test_a_pressure_in_bar() -> None:
    """By hand: 1,600 psi are 110.3 bar and 2,200 psi are 151.7; 50 psi are 3.4, so steps of 2."""
    given_in_psi = {"step": 50.0, "min": 1600.0, "max": 2200.0, "low": 1000.0, "high": 2500.0}
    assert converted_limits(given_in_psi, "psi", "bar") == {
        "step": 2.0,
        "min": 112.0,
        "max": 150.0,
        "low": 68.0,
        "high": 174.0,
    }


UNITS = st.sampled_from(["psi", "bar", "kPa", "mmHg", "atm"])


@given(UNITS, UNITS, st.floats(1, 1000), st.floats(1, 1000), st.sampled_from([0.5, 1, 5, 50]))
def test_limits_go_inside_and_the_range_outside(
    unit: str, to: str, low: float, width: float, step: float
) -> None:
    limits = {"step": step, "min": low, "max": low + width, "low": low, "high": low + width}
    new = converted_limits(limits, unit, to)
    exact = converted_limits({"step": 1e-6, "low": low, "high": low + width}, unit, to)
    assert new is not None
    assert exact is not None
    assert new["low"] <= exact["high"]
    assert new["min"] >= new["low"]
    assert new["max"] <= new["high"]
    assert new["min"] >= exact["low"] - 1e-3
    assert new["max"] <= exact["high"] + 1e-3
    for name in ("min", "max", "low", "high"):
        assert math.isclose(new[name] / new["step"], round(new[name] / new["step"]), abs_tol=2e-3)


@pytest.mark.parametrize(
    ("step", "nice"),
    [(1.0, 1.0), (3.4, 2.0), (5.0, 5.0), (9.9, 5.0), (0.069, 0.05), (345.0, 200.0), (1e-7, 0.001)],
)
def test_a_step_is_a_round_number(step: float, nice: float) -> None:
    assert nice_step(step) == nice


def test_every_unit_has_a_name_to_say() -> None:
    assert all(names and all(name.isalpha() for name in names) for names in NAMES.values())


@pytest.mark.parametrize(
    ("words", "unit", "named"),
    [
        ("one hundred twenty bar", "psi", "bar"),
        ("supply pressure / one twenty Bar", "psi", "bar"),
        ("one thousand seven hundred", "psi", "psi"),
        ("one thousand psi", "psi", "psi"),
        ("after two minutes one thousand", "psi", "psi"),
        ("barely five", "psi", "psi"),
        ("five thousand metres", "ft", "m"),
        ("ninety bar", "%", "%"),
    ],
)
def test_a_unit_is_known_by_its_name(words: str, unit: str, named: str) -> None:
    assert named_unit(words, unit) == named
