import pytest

from tests.profile.rows import call, cue, done, step
from tests.profile.simulated import SHEET_TEXT, sheet
from voxlog.follow.event import Event
from voxlog.profile.station import (
    decompression_cues,
    departures,
    is_done,
    level_unit,
    moment_of,
    stations,
)
from voxlog.sheet.load import read_sheet

GROUND = done((0, "ground", "1"), (60, "ground", "2"))
UP = [call(180, 5000, "up-low", "low"), call(240, 8000, "up-low", "level-low")]


def found(*rows: Event) -> list[tuple[float, float, float]]:
    return [(each.start, each.end, each.level) for each in stations(sheet(), rows)[0]]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        pytest.param([], [], id="nothing said"),
        pytest.param(GROUND, [(0, 63, 0)], id="from the first row of the ground to its last"),
        pytest.param(
            [*GROUND, *UP], [(0, 63, 0), (180, 180, 5000), (240, 240, 8000)], id="two calls"
        ),
        pytest.param(
            [*GROUND, *UP, *done((300, "ear-check", "3"), (350, "ear-check", "4"))],
            [(0, 63, 0), (180, 180, 5000), (240, 353, 8000)],
            id="a stay from its call to the last row of its phase",
        ),
        pytest.param(
            [*GROUND, *UP, *done((200, "ear-check", "3"), (350, "ear-check", "4"))],
            [(0, 63, 0), (180, 180, 5000), (240, 353, 8000)],
            id="an item read out on the way up counts for nothing",
        ),
        pytest.param(
            [*GROUND, UP[0], *done((300, "ear-check", "3"), (350, "ear-check", "4"))],
            [(0, 63, 0), (180, 180, 5000), (350, 353, 8000)],
            id="the call was not heard: there by the last row",
        ),
        pytest.param(
            [*GROUND, *UP, *done((300, "ear-check", "3")), call(290, 10_000, "up", "climb")],
            [(0, 63, 0), (180, 180, 5000), (240, 240, 8000), (290, 290, 10_000)],
            id="rows after the next call are no stay",
        ),
        pytest.param(
            [*GROUND, step(400, "ground", "1", "confirmed", "out-of-order"), UP[0]],
            [(0, 63, 0), (180, 180, 5000)],
            id="a ground item done late takes the chamber nowhere",
        ),
        pytest.param(
            [*GROUND, step(90, "ground", "2", "skipped"), step(95, "ground", "2", p=0.3)],
            [(0, 63, 0)],
            id="rows of which nothing was heard, or little is sure",
        ),
        pytest.param(
            [*GROUND, *reversed(UP)],
            [(0, 63, 0), (180, 180, 5000), (240, 240, 8000)],
            id="rows in any order",
        ),
    ],
)
def test_stations(rows: list[Event], expected: list[tuple[float, float, float]]) -> None:
    assert found(*rows) == expected


@pytest.mark.parametrize(
    ("bad", "reason"),
    [
        (call(120, 3000, "up-low", "low", "uncertain"), "not sure"),
        (call(120, 3000, "up-low", "low", p=0.4), "not sure"),
        # Between 5,000 and 8,000 ft nobody goes to 30,000 and back in a minute.
        (call(200, 30_000, "up-low", "low"), "a leap"),
    ],
)
def test_a_call_that_is_not_believed_is_told_of(bad: Event, reason: str) -> None:
    more = [call(300, 10_000, "up", "climb"), call(360, 15_000, "up", "climb")]
    kept, left_out = stations(sheet(), [*GROUND, *UP, *more, bad])
    assert [each.level for each in kept] == [0, 5000, 8000, 10_000, 15_000]
    assert [(each.start, each.level) for each in left_out] == [(bad.start, bad.value)]
    assert reason in left_out[0].reason


def test_a_rapid_decompression_is_no_leap() -> None:
    """It goes away fast and does not come back the same way."""
    fast = [call(241, 22_000, "up", "climb"), call(500, 20_000, "down", "sink")]
    kept, left_out = stations(sheet(), [*GROUND, *UP, *fast])
    assert not left_out
    assert [each.level for each in kept] == [0, 5000, 8000, 22_000, 20_000]


def test_other_numbers_are_no_levels() -> None:
    readings = [
        Event(70, 72, "reading", "ground", "saturation", value=98, unit="%"),
        Event(75, 77, "callout", "ground", "time-off", value=30, unit="s"),
        call(80, 5, "up-low", "low", unit="msw"),
    ]
    assert found(*GROUND, *readings) == [(0, 63, 0)]


def test_the_unit_is_that_of_most_callouts() -> None:
    assert level_unit(sheet()) == "ft"
    none = read_sheet(
        "{voxlog-sheet: 1, id: a, title: A, source: tests, positions: {c: C}, asks: c, "
        "phases: [{id: a, title: A, steps: [{item: 1, ask: ready, by: c, confirm: yes}]}]}"
    )
    assert level_unit(none) == ""
    assert stations(none, done((0, "a", "1")))[0] == []


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (step(0, "ground", "1"), True),
        (step(0, "ground", "1", "negative"), False),
        (step(0, "ground", "1", "unconfirmed"), False),
        (step(0, "ground", "1", p=0.4), False),
        (cue(0, "drop", "drop-now"), True),
        # Announced, and no go word heard.
        (cue(0, "drop", "drop-now", "unconfirmed"), False),
        (cue(0, "drop", "drop-now", "skipped"), False),
    ],
)
def test_what_counts_as_done(row: Event, expected: bool) -> None:
    assert is_done(row) == expected


def test_a_sheet_without_decompressions_has_no_cue_of_one() -> None:
    assert decompression_cues(sheet(), [cue(0, "ground", "drop-now")]) == {}


def test_departures_are_the_marked_steps_that_were_done() -> None:
    marked = read_sheet(
        SHEET_TEXT.replace("confirm: going up,", "confirm: going up, departs: true,")
    )
    rows = [step(300, "ear-check", "4"), step(310, "ear-check", "3")]
    assert departures(marked, rows) == [303]
    assert departures(marked, [step(300, "ear-check", "4", "negative")]) == []
    assert departures(sheet(), rows) == []


def test_a_step_has_its_moment() -> None:
    """A cue its go word, an item the end of its answer."""
    assert moment_of(cue(10, "drop", "drop-now")) == 10
    assert moment_of(step(10, "ground", "1")) == 13
