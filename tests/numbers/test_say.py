"""How values are said, and that every wording means its value."""

import math

import pytest

from voxlog.numbers.parse import Quantity, parse_value
from voxlog.numbers.say import spoken_forms


@pytest.mark.parametrize(
    ("value", "quantity", "first_forms"),
    [
        # FAA AIM 4-2-9: digits of the thousands; 4-2-8 for flight levels. ICAO Annex 10 Volume II
        # 5.2.1.4.1 the same. "Flight level two hundred" is UK and French practice.
        (
            25000,
            "altitude",
            ("two five thousand", "twenty five thousand", "flight level two five zero"),
        ),
        (12500, "altitude", ("one two thousand five hundred", "twelve thousand five hundred")),
        (4500, "altitude", ("four thousand five hundred", "forty five hundred")),
        (1500, "altitude", ("one thousand five hundred", "fifteen hundred")),
        (500, "altitude", ("five hundred",)),
        (250, "altitude", ("two five zero feet",)),
        (0, "altitude", ("zero",)),
        (91, "number", ("ninety one", "nine one")),
        (
            102,
            "number",
            (
                "one zero two",
                "one oh two",
                "one hundred and two",
                "one hundred two",
                "a hundred and two",
            ),
        ),
        (
            1850,
            "number",
            (
                "one eight five zero",
                "eighteen fifty",
                "one thousand eight hundred and fifty",
                "one thousand eight hundred fifty",
            ),
        ),
        (2000, "number", ("two thousand",)),
        (100, "number", ("one hundred", "a hundred", "one zero zero")),
        (5.5, "number", ("five decimal five", "five point five")),
        (-5, "number", ("minus five",)),
        (90, "duration", ("one minute thirty", "ninety seconds", "one thirty")),
        (30, "duration", ("thirty seconds", "thirty", "half a minute")),
        (120, "duration", ("two minutes",)),
        (35100, "clock", ("zero nine four five", "nine forty five")),
    ],
)
def test_the_most_usual_wordings_come_first(
    value: float, quantity: Quantity, first_forms: tuple[str, ...]
) -> None:
    assert spoken_forms(value, quantity)[: len(first_forms)] == first_forms


@pytest.mark.parametrize(
    ("value", "quantity", "form"),
    [
        (20000, "altitude", "flight level two hundred"),
        (5000, "altitude", "flight level zero five zero"),
        (25000, "altitude", "angels two five"),
        (90, "duration", "a minute and a half"),
        (90, "duration", "one plus thirty"),
        (65, "duration", "one oh five"),
        (1905, "number", "nineteen oh five"),
        (3600, "duration", "one hour"),
        (32400, "clock", "zero nine hundred"),
    ],
)
def test_less_usual_wordings_are_there(value: float, quantity: Quantity, form: str) -> None:
    assert form in spoken_forms(value, quantity)


def test_niner_replaces_every_nine() -> None:
    assert spoken_forms(91, "number", niner=True) == ("ninety one", "niner one")


@pytest.mark.parametrize(
    ("value", "quantity"),
    [
        (math.nan, "number"),
        (math.inf, "number"),
        (1e6, "number"),
        (1e-7, "number"),
        (-100, "altitude"),
        (100_000, "altitude"),
        (0.5, "altitude"),
        (-1, "duration"),
        (86_401, "duration"),
        (86_400, "clock"),
        (-1, "clock"),
        (0.5, "clock"),
    ],
)
def test_what_nobody_can_say_is_refused(value: float, quantity: Quantity) -> None:
    with pytest.raises(ValueError):
        spoken_forms(value, quantity)


@pytest.mark.parametrize(
    ("quantity", "values"),
    [
        ("altitude", range(0, 60_001, 100)),
        ("altitude", range(0, 100_000, 123)),
        ("duration", range(3601)),
        ("duration", [0.5, 5.5, 59.9, 90.5, *range(3601, 86_401, 577)]),
        ("number", range(3000)),
        ("number", [tenth / 10 for tenth in range(3000)]),
        ("number", [hundredth / 100 for hundredth in range(0, 10_000, 7)]),
        ("number", range(-999_999, 1_000_000, 997)),
        ("clock", range(0, 86_400, 60)),
        ("clock", range(0, 86_400, 61)),
    ],
)
@pytest.mark.parametrize("niner", [False, True])
def test_every_wording_means_its_value(
    quantity: Quantity, values: list[float], niner: bool
) -> None:
    forms = (
        (value, form) for value in values for form in spoken_forms(value, quantity, niner=niner)
    )
    wrong = [(value, form) for value, form in forms if parse_value(form, quantity) != value]
    assert wrong == []
