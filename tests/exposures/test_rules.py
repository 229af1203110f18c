from datetime import timedelta
from typing import Any

import pytest

from tests.exposures.runs import exposure
from voxlog.exposures.exposure import Exposure
from voxlog.exposures.rules import record_of
from voxlog.sheet.site_rule import ExposureRule


def rule(**fields: Any) -> ExposureRule:
    return ExposureRule.model_validate({"id": "rest", "source": "invented"} | fields)


def breaks(exposures: list[Exposure], *rules: ExposureRule) -> list[tuple[str, ...]]:
    """What each entry of the only person breaks, in words."""
    (person,) = record_of(exposures, rules)
    return [tuple(breach.words for breach in entry.breaches) for entry in person.entries]


@pytest.mark.parametrize(
    ("begins", "expected"),
    [
        ([0], [()]),
        # From the end of one to the beginning of the next: half an hour is spent inside.
        ([0, 24.5], [(), ()]),
        ([0, 24.4], [(), ("23.9 h after the last, 24 h asked for",)]),
        # Cut, not rounded: 23.96 h is not 24.0.
        ([0, 24.46], [(), ("23.9 h after the last, 24 h asked for",)]),
        ([0, 30, 40], [(), (), ("9.5 h after the last, 24 h asked for",)]),
        # In order of time, whatever the order of the runs.
        ([40, 0, 30], [(), (), ("9.5 h after the last, 24 h asked for",)]),
        # Two recordings that overlap.
        ([0, 0.25], [(), ("-0.2 h after the last, 24 h asked for",)]),
    ],
)
def test_the_shortest_interval(begins: list[float], expected: list[tuple[str, ...]]) -> None:
    assert breaks([exposure(began) for began in begins], rule(**{"min-interval-h": 24})) == expected


@pytest.mark.parametrize(
    ("begins", "expected"),
    [
        ([0, 48, 96], [(), (), ()]),
        ([0, 48, 96, 144], [(), (), (), ("4 in 7 days, 3 at most",)]),
        # A week is 168 hours, not a week of the calendar: to the hour after it is another.
        ([0, 48, 96, 167.9], [(), (), (), ("4 in 7 days, 3 at most",)]),
        ([0, 48, 96, 168], [(), (), (), ()]),
    ],
)
def test_the_most_in_a_week(begins: list[float], expected: list[tuple[str, ...]]) -> None:
    assert breaks([exposure(began) for began in begins], rule(**{"max-a-week": 3})) == expected


@pytest.mark.parametrize(
    ("first", "fields", "is_broken"),
    [
        ({}, {}, True),
        # Its level.
        ({}, {"at-least": 25_000, "unit": "ft"}, True),
        ({}, {"at-least": 25_001, "unit": "ft"}, False),
        ({}, {"at-least": 10, "unit": "msw"}, False),
        # An exposure below the level neither breaks the rule nor counts for another.
        ({"level": 8000}, {"at-least": 18_000, "unit": "ft"}, False),
        # Its positions.
        ({}, {"for": ["subject"]}, True),
        ({}, {"for": ["attendant"]}, False),
        ({}, {"for": ["attendant", "subject"]}, True),
        ({"role": "attendant"}, {"for": ["subject"]}, False),
    ],
)
def test_a_rule_counts_its_level_and_positions(
    first: dict[str, Any], fields: dict[str, Any], is_broken: bool
) -> None:
    exposures = [exposure(0, **first), exposure(10)]
    _, second = breaks(exposures, rule(**{"min-interval-h": 24} | fields))
    assert bool(second) == is_broken


def test_several_rules_are_each_told_of() -> None:
    rules = rule(**{"min-interval-h": 24, "max-a-week": 1}), rule(**{"min-interval-h": 12})
    _, second = breaks([exposure(0), exposure(10)], *rules)
    assert second == (
        "9.5 h after the last, 24 h asked for",
        "2 in 7 days, 1 at most",
        "9.5 h after the last, 12 h asked for",
    )


def test_people_are_told_apart_and_stand_in_order_of_their_codes() -> None:
    people = record_of([exposure(0, "S-09"), exposure(1, "C-12"), exposure(2, "S-09")])
    assert [(one.code, len(one.entries)) for one in people] == [("C-12", 1), ("S-09", 2)]


def test_since_the_last_counts_every_exposure() -> None:
    (person,) = record_of([exposure(0), exposure(10, level=8000), exposure(20)])
    hours = [entry.since_last and entry.since_last / timedelta(hours=1) for entry in person.entries]
    assert hours == [None, 9.5, 9.5]


def test_an_exposure_without_a_time_comes_last_and_is_not_checked() -> None:
    exposures = [exposure(None), exposure(0), exposure(10)]
    assert breaks(exposures, rule(**{"min-interval-h": 24, "max-a-week": 1}))[-1] == ()
    (person,) = record_of(exposures)
    assert [entry.exposure.began is None for entry in person.entries] == [False, False, True]
    assert person.entries[-1].since_last is None


def test_no_exposures_are_no_people() -> None:
    assert record_of([], [rule(**{"max-a-week": 1})]) == ()
