from datetime import timedelta

import pytest

from tests.exposures.runs import MONDAY, ROWS, SHEET
from voxlog.exposures.exposure import SUBJECT, exposures_of
from voxlog.follow.event import Event
from voxlog.log.people import People
from voxlog.sheet.load import read_sheet

WHO = People(("S-07", "S-09"), {"attendant": "C-12", "operator": "C-03"})


def test_subjects_and_crew_inside_are_exposed_and_nobody_outside() -> None:
    found = exposures_of("run-1", read_sheet(SHEET), ROWS, WHO, MONDAY)
    assert [(one.code, one.role) for one in found] == [
        ("S-07", SUBJECT),
        ("S-09", SUBJECT),
        ("C-12", "attendant"),
    ]


def test_an_exposure_has_level_times_and_oxygen() -> None:
    subject, _, attendant = exposures_of("run-1", read_sheet(SHEET), ROWS, WHO, MONDAY)
    assert (subject.run, subject.sheet) == ("run-1", "up-and-down")
    assert (subject.level, subject.unit) == (25_000, "ft")
    assert subject.at_level.seconds == pytest.approx(300)
    assert subject.began == MONDAY + timedelta(seconds=360)
    # 60 s after the call of 5,000 ft, at the rate of the leg before.
    assert subject.ended == MONDAY + timedelta(seconds=1260)
    assert subject.away_s == 900
    # From the first confirmation to the last row. What the attendant breathed nobody said.
    assert subject.oxygen_s == 1303 - 3
    assert attendant.oxygen_s is None


def test_a_run_of_which_the_time_is_not_known_has_no_moments() -> None:
    (one, *_) = exposures_of("run-1", read_sheet(SHEET), ROWS, WHO, None)
    assert (one.began, one.ended, one.away_s) == (None, None, 900)


def test_a_log_that_ends_at_altitude_ends_the_exposure() -> None:
    talk = Event(990, 1000, "note", "down")
    (one, *_) = exposures_of("run-1", read_sheet(SHEET), [*ROWS[:8], talk], WHO, MONDAY)
    assert one.ended == MONDAY + timedelta(seconds=1000)


def test_nobody_is_exposed_on_the_ground() -> None:
    assert exposures_of("run-1", read_sheet(SHEET), ROWS[:2], WHO, MONDAY) == ()


def test_a_run_without_codes_is_nobodys() -> None:
    assert exposures_of("run-1", read_sheet(SHEET), ROWS, People(), MONDAY) == ()


def test_a_sheet_that_says_nothing_of_inside_exposes_subjects_only() -> None:
    sheet = read_sheet(SHEET.replace("inside: [attendant]\n", ""))
    found = exposures_of("run-1", sheet, ROWS, WHO, MONDAY)
    assert {one.role for one in found} == {SUBJECT}


def test_oxygen_is_not_known_where_the_sheet_marks_none() -> None:
    sheet = read_sheet(SHEET.replace(", gas: oxygen", ""))
    (one, *_) = exposures_of("run-1", sheet, ROWS, WHO, MONDAY)
    assert one.oxygen_s is None
