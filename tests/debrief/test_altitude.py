from dataclasses import replace

from tests.debrief.made import EVENTS, SHEET, a_run, decided
from voxlog.debrief.altitude import altitude_of

WITHOUT_LEVELS = SHEET.split("    callouts:")[0]


def test_calls_are_the_levels_and_not_the_times() -> None:
    altitude = altitude_of(a_run())
    assert altitude is not None
    assert (altitude.unit, altitude.calls) == ("ft", (4, 5))
    level = altitude.estimate.at(20.0)
    assert level is not None
    assert level.level == 5000


def test_a_level_corrected_in_review_moves_the_estimate() -> None:
    corrected = replace(EVENTS[4], value=15_000.0, flags=())
    altitude = altitude_of(a_run(decisions=[decided(5, "corrected", "one five", event=corrected)]))
    assert altitude is not None
    level = altitude.estimate.at(30.0)
    assert level is not None
    assert level.level == 15_000


def test_a_sheet_without_levels_has_no_altitude() -> None:
    assert altitude_of(a_run([], [], sheet=WITHOUT_LEVELS)) is None
