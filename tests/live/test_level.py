"""A stay at a level begins when it is called, or with its first step, and ends with the way on."""

import pytest

from tests.live.small import call, cue, item, listed
from voxlog.follow.event import Event
from voxlog.live.level import Stay, last_level, stay

SHEET = listed().sheet
GROUND = item(10, 1)
CLIMB = item(100, 6)
TOP = Stay(18000, "ft", 300, 600)


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], None),
        # the ground is no stay unless the sheet limits it
        ([GROUND], None),
        # on the way up
        ([GROUND, CLIMB, call(150, "climb", 5000)], None),
        # the level is called before any step of its phase
        ([GROUND, CLIMB, call(300, "top", 18000)], TOP),
        ([GROUND, CLIMB, call(300, "top", 18000), item(330, 7)], TOP),
        # another level was called last
        ([GROUND, CLIMB, call(300, "top", 17000)], None),
        # nobody called it: the first step of the level
        ([GROUND, CLIMB, item(300, 7)], TOP),
        # two phases at one level are one stay, under the limit that one of them has
        ([GROUND, CLIMB, call(300, "top", 18000), item(330, 7), cue(400), item(420, 8)], TOP),
        # work out of order takes the chamber nowhere, nor do skipped rows
        (
            [
                GROUND,
                CLIMB,
                call(300, "top", 18000),
                item(330, 7),
                item(340, 2, "confirmed", "out-of-order"),
            ],
            TOP,
        ),
        ([GROUND, CLIMB, call(300, "top", 18000), item(330, 9, "skipped")], TOP),
        # on the way down
        ([GROUND, CLIMB, call(300, "top", 18000), item(330, 7), item(900, 9)], None),
    ],
)
def test_the_stay_that_goes_on(rows: list[Event], expected: Stay | None) -> None:
    assert stay(SHEET, rows) == expected


@pytest.mark.parametrize(
    ("rows", "level"),
    [
        ([], None),
        ([call(10, "climb", 5000), call(40, "climb", 10000)], 10000),
        # a time that was called is no level, nor is one that was never called
        ([call(10, "climb", 5000), Event(20, 21, "callout", item="time-off", value=30)], 5000),
        (
            [
                call(10, "climb", 5000),
                Event(20, 20, "callout", "ascent", "climb", status="skipped", value=10000),
            ],
            5000,
        ),
    ],
)
def test_the_last_level_called(rows: list[Event], level: float | None) -> None:
    found = last_level(SHEET, rows)
    assert (None if found is None else found.value) == level
