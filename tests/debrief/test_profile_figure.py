from dataclasses import replace

import pytest

from tests.debrief.made import EVENTS, SHEET, a_run, decided
from tests.debrief.test_altitude import WITHOUT_LEVELS
from voxlog.debrief.altitude import altitude_of
from voxlog.debrief.findings import findings_of_run
from voxlog.debrief.holds import holds_of
from voxlog.debrief.profile_figure import LEFT, RIGHT, WIDTH, Profile, profile
from voxlog.debrief.run import Run
from voxlog.follow.event import Event


def figure(run: Run) -> Profile:
    return profile(run, altitude_of(run), findings_of_run(run), holds_of(run))


def test_everything_of_the_run_is_on_it() -> None:
    drawn = figure(a_run())
    assert [mark.shape for mark in drawn.calls] == ["called", "wrong"]
    assert [label.text for label in drawn.cues] == ["masks-off"]
    assert [label.text for label in drawn.findings] == ["1 !!", "5 -", "3 !!", "2 !!", "4 !!"]
    assert [mark.shape for mark in drawn.items] == ["confirmed", "confirmed", "skipped", "negative"]
    assert [mark.title for mark in drawn.elapsed] == ["01:26  time-off 30 s"]
    assert [band.text for band in drawn.holds] == ["hold"]
    assert [band.title for band in drawn.phases] == ["1  Ground checks", "2  Climb"]


@pytest.mark.parametrize(
    ("event", "shape"),
    [
        (
            Event(5, 6, "callout", "climb", "climb", status="confirmed", value=5000, unit="ft"),
            "called",
        ),
        (Event(5, 6, "callout", "climb", "climb", value=5000, unit="ft"), "called"),
        (
            Event(5, 5, "callout", "climb", "climb", status="skipped", value=5000, unit="ft"),
            "missed",
        ),
        (
            Event(5, 6, "callout", "climb", "climb", status="unconfirmed", value=5000, unit="ft"),
            "unsure",
        ),
        (
            Event(5, 6, "callout", "climb", "climb", flags=("uncertain",), value=5000, unit="ft"),
            "unsure",
        ),
        (
            Event(5, 6, "callout", "climb", "climb", flags=("misread",), value=5000, unit="ft"),
            "wrong",
        ),
    ],
)
def test_the_sign_of_a_call(event: Event, shape: str) -> None:
    (mark,) = figure(a_run([event])).calls
    assert (mark.shape, mark.x) == (shape, LEFT + (RIGHT - LEFT) * 0.05)


def test_places_follow_time_and_level() -> None:
    drawn = figure(a_run())
    fifth, tenth = drawn.calls
    assert fifth.x == pytest.approx(LEFT + 0.2 * (RIGHT - LEFT), abs=0.1)
    assert drawn.top <= tenth.y < fifth.y < drawn.bottom
    (hold,) = drawn.holds
    assert hold.width == pytest.approx(0.12 * (RIGHT - LEFT), abs=0.2)


def test_depths_grow_downwards() -> None:
    deep = SHEET.replace("unit: ft", "unit: msw")
    rows = [replace(row, unit="msw") if row.unit == "ft" else row for row in EVENTS]
    shallow, deeper = figure(a_run(rows, sheet=deep)).calls
    assert shallow.y < deeper.y


def test_labels_stay_inside_and_clear_of_each_other() -> None:
    rows = [Event(t, t, "item", "ground", "1", status="skipped") for t in (0, 0, 1, 1, 2, 99, 99.9)]
    labels = figure(a_run(rows)).findings
    for label in labels:
        assert label.width < WIDTH
    for one in labels:
        for other in labels:
            if one is not other and one.line == other.line:
                assert abs(one.x - other.x) > 8
    assert max(label.line for label in labels) >= 4


def test_a_decided_finding_is_drawn_as_such() -> None:
    drawn = figure(a_run(decisions=[decided(2, "stands")]))
    assert drawn.findings[0].shape == "grave decided"


def test_a_sheet_without_levels_still_has_its_lanes() -> None:
    drawn = figure(a_run(EVENTS[:3], sheet=WITHOUT_LEVELS))
    assert (drawn.curve, drawn.band, drawn.levels, drawn.unit) == ("", "", (), "")
    assert len(drawn.items) == 3


def test_a_log_without_rows() -> None:
    drawn = figure(a_run([], []))
    assert (drawn.findings, drawn.calls, drawn.phases) == ((), (), ())


@pytest.mark.parametrize(
    ("until", "text"), [(50, "1 Ground checks"), (9, "1 Grou…"), (4, "1"), (0.2, "")]
)
def test_a_phase_has_what_fits_of_its_title(until: float, text: str) -> None:
    rows = [
        Event(0, 0.1, "item", "ground", "1", status="confirmed"),
        Event(until, until, "item", "climb", "4", status="confirmed"),
    ]
    phase = figure(a_run(rows)).phases[0]
    assert phase.text == text
