"""Items, callouts, times and readings know what follows from their fields."""

from typing import Any

import pytest
from pydantic import ValidationError

from voxlog.sheet.parts import Callout, Cue, Elapsed, Item, Reading, ValueSpec


def value(**fields: Any) -> ValueSpec:
    return ValueSpec.model_validate({"unit": "psi"} | fields)


def callout(**fields: Any) -> Callout:
    return Callout.model_validate({"id": "climb", "by": "operator", "unit": "ft"} | fields)


@pytest.mark.parametrize(
    ("unit", "quantity"),
    [
        ("ft", "altitude"),
        ("s", "duration"),
        ("min", "duration"),
        ("psi", "number"),
        ("%", "number"),
    ],
)
def test_the_unit_tells_how_a_number_is_spoken(unit: str, quantity: str) -> None:
    assert value(unit=unit, low=0, high=1).quantity == quantity


@pytest.mark.parametrize(
    ("fields", "sayable"),
    [
        # given
        ({"low": 1000, "high": 2500, "min": 1600, "max": 2200}, (1000, 2500)),
        ({"low": 40, "high": 100}, (40, 100)),
        # half the distance of the limits beyond each, out to the next step
        ({"min": 1600, "max": 2200}, (1300, 2500)),
        ({"min": 1600, "max": 2200, "step": 200}, (1200, 2600)),
        ({"min": 2.5, "max": 3.5, "step": 0.1}, (2.0, 4.0)),
        # not below nothing, unless the limits are
        ({"min": 1, "max": 12}, (0, 18)),
        ({"min": -10, "max": 10}, (-20, 20)),
        # one end given
        ({"min": 95, "max": 99, "high": 100}, (93, 100)),
    ],
)
def test_what_can_be_said_reaches_beyond_the_limits(
    fields: dict[str, float], sayable: tuple[float, float]
) -> None:
    assert value(**fields).sayable == pytest.approx(sayable)


@pytest.mark.parametrize(
    ("limits", "number", "within"),
    [
        ({"min": 95, "max": 100}, 95, True),
        ({"min": 95, "max": 100}, 100, True),
        ({"min": 95, "max": 100}, 94.9, False),
        ({"min": 95, "max": 100}, 101, False),
        ({"min": 95}, 300, True),
        ({"max": 100}, -5, True),
        ({}, 7, True),
    ],
)
def test_limits_belong_to_what_they_allow(
    limits: dict[str, float], number: float, within: bool
) -> None:
    assert value(low=-10, high=400, **limits).is_within_limits(number) is within


@pytest.mark.parametrize(
    ("fields", "levels"),
    [
        ({"from": 5000, "to": 25000, "every": 5000}, [5000, 10000, 15000, 20000, 25000]),
        ({"from": 20000, "to": 5000, "every": 5000}, [20000, 15000, 10000, 5000]),
        ({"from": 5000, "to": 18000, "every": 5000}, [5000, 10000, 15000]),
        ({"from": 25000, "to": 25000}, [25000]),
        ({"from": 0, "to": 0.3, "every": 0.1}, [0, 0.1, 0.2, 0.3]),
    ],
)
def test_levels_are_due_in_the_order_they_are_passed(
    fields: dict[str, float], levels: list[float]
) -> None:
    assert callout(**fields).levels == pytest.approx(levels)


@pytest.mark.parametrize(
    ("fields", "sayable", "step"),
    [
        ({"from": 5000, "to": 25000, "every": 5000}, (0, 30000), 5000),
        ({"from": 5000, "to": 25000, "every": 5000, "step": 1000}, (0, 30000), 1000),
        ({"from": 20000, "to": 10000, "every": 5000, "low": 1000}, (1000, 25000), 5000),
        ({"from": 25000, "to": 25000}, (25000, 25000), 1),
    ],
)
def test_one_call_beyond_those_due_can_be_said(
    fields: dict[str, float], sayable: tuple[float, float], step: float
) -> None:
    assert (callout(**fields).sayable, callout(**fields).step) == (sayable, step)


def test_elapsed_calls_are_due_until_the_last() -> None:
    fields = {"id": "off", "cue": "masks-off", "by": "recorder", "every": 30, "until": 100}
    elapsed = Elapsed.model_validate(fields)
    assert elapsed.due == (30, 60, 90)
    assert (elapsed.quantity, elapsed.unit, elapsed.sayable) == ("duration", "s", (5, 130))


def test_a_cue_goes_on_now_unless_it_says_otherwise() -> None:
    cue = Cue.model_validate({"cue": "off", "by": "conductor", "count": ["Three", "two"]})
    assert (cue.key, cue.count, cue.go, cue.say) == ("off", ("three", "two"), ("now",), ())


@pytest.mark.parametrize("part", [Item, Cue, Callout, Elapsed, Reading, ValueSpec])
def test_parts_refuse_keys_they_do_not_know(part: type[Item]) -> None:
    with pytest.raises(ValidationError, match="Extra inputs are not permitted"):
        part.model_validate({"unheard-of": 1})


def test_an_item_cannot_be_changed() -> None:
    item = Item.model_validate({"item": 7, "ask": "hose", "by": "attendant"})
    assert item.key == "7"
    with pytest.raises(ValidationError, match="frozen"):
        item.number = 8  # type: ignore[misc]
