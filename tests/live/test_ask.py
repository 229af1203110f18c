"""Answers are a few words, true of the rows and the time."""

from typing import Any

import pytest

from tests.live.small import call, item, listed
from voxlog.follow.event import Event
from voxlog.follow.query import Query
from voxlog.live.ask import answer, spoken_time

SHEET = listed().sheet
TOP = [item(100, 6), call(300, "top", 18000)]


def reading(start: float, value: float, *flags: Any) -> Event:
    return Event(
        start, start + 2, "reading", item="heart-rate", value=value, unit="bpm", flags=flags
    )


@pytest.mark.parametrize(
    ("act", "about", "rows", "now", "text"),
    [
        ("ask-open", {}, [], 10, "no open items"),
        ("ask-open", {}, [item(10, 1)], 20, "no open items"),
        ("ask-open", {}, [item(10, 2)], 20, "open: item 1, intercom check"),
        (
            "ask-open",
            {},
            [item(90, 6)],
            99,
            "open: item 1, intercom check; item 2, oxygen supply; item 4, inner door; and 1 more",
        ),
        ("ask-time", {}, [], 10, "not at a level"),
        (
            "ask-time",
            {},
            TOP,
            550,
            "at 18,000 ft for 4 minutes 10 seconds, 5 minutes 50 seconds left",
        ),
        ("ask-time", {}, TOP, 960, "at 18,000 ft for 11 minutes, 1 minute over the limit"),
        ("ask-reading", {"reading": "heart-rate"}, [], 10, "no heart rate heard yet"),
        (
            "ask-reading",
            {"reading": "heart-rate"},
            [reading(10, 72), reading(50, 75)],
            92,
            "heart rate 75 bpm, 40 seconds ago",
        ),
        (
            "ask-reading",
            {"reading": "heart-rate"},
            [reading(10, 150, "off-limit", "uncertain")],
            13,
            "heart rate 150 bpm, not sure, off limit, 1 second ago",
        ),
        ("mark", {}, [], 70, "marked at 1 minute 5 seconds"),
        (
            "correct-item",
            {"item": 2},
            [item(10, 2)],
            70,
            "correction noted, item 2, oxygen supply, held as confirmed",
        ),
        (
            "correct-item",
            {"item": 2},
            [],
            70,
            "correction noted, item 2, oxygen supply, held as not heard",
        ),
        ("correct-item", {"item": 77}, [], 70, "no item 77"),
        ("call-word", {}, [], 70, ""),
    ],
)
def test_an_answer(
    act: Any, about: dict[str, Any], rows: list[Event], now: float, text: str
) -> None:
    query = Query(act, 0, 65, 66, "logbook", 5.0, **about)
    assert answer(query, SHEET, rows, now) == text


def test_without_a_limit_no_time_is_left_over() -> None:
    sheet = listed().sheet.model_copy()
    unlimited = tuple(phase.model_copy(update={"time_limit": None}) for phase in sheet.phases)
    sheet = sheet.model_copy(update={"phases": unlimited})
    query = Query("ask-time", 0, 65, 66, "", 5.0)
    assert answer(query, sheet, TOP, 360) == "at 18,000 ft for 1 minute"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0 seconds"),
        (0.9, "0 seconds"),
        (1, "1 second"),
        (59.99, "59 seconds"),
        (60, "1 minute"),
        (61, "1 minute 1 second"),
        (7325, "122 minutes 5 seconds"),
    ],
)
def test_a_length_of_time_in_words(seconds: float, text: str) -> None:
    assert spoken_time(seconds) == text
