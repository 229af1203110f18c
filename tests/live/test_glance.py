"""What is due, and the rest that a display shows."""

import math

import pytest

from tests.live.small import call, cue, item, listed
from voxlog.follow.event import Event
from voxlog.live.glance import due_item, row_text, run_state, shown
from voxlog.live.provisional import Added, Corrected, NumberedRow, Withdrawn
from voxlog.live.state import (
    ChannelState,
    DueItem,
    LastCue,
    LastValue,
    LevelTime,
    OpenItem,
    Row,
    RunState,
)

SHEET = listed().sheet


def resume(start: float, number: float) -> Event:
    return Event(start, start + 2, "resume", value=number)


@pytest.mark.parametrize(
    ("rows", "number", "asked_s"),
    [
        ([], "1", None),
        ([item(10, 1)], "2", None),
        # what was asked stays due until it is answered or the run goes on
        ([item(10, 1, "unconfirmed")], "1", 27),
        ([item(10, 1, "unconfirmed"), item(20, 2)], "3", None),
        ([item(10, 1, "negative")], "2", None),
        # within a group first what was not done
        ([item(10, 1), item(20, 5)], "4", None),
        ([item(10, 1), item(20, 5), item(30, 4)], "6", None),
        # a cue has no number
        ([item(10, 7)], "", None),
        ([item(10, 7), cue(37, "unconfirmed")], "", 2),
        ([item(10, 7), cue(30)], "8", None),
        # the work is taken up again at an item, done before or not
        ([item(10, 1), item(20, 2), item(25, 4), resume(30, 2)], "2", None),
        ([item(10, 1), item(20, 2), item(25, 6), resume(30, 2), item(35, 2)], "3", None),
        ([item(10, 1), item(20, 4, "confirmed", "out-of-order")], "2", None),
        # skipped rows are not done work
        ([item(10, 1), item(20, 2, "skipped")], "2", None),
        ([item(10, 9)], None, None),
    ],
)
def test_the_item_now_due(rows: list[Event], number: str | None, asked_s: float | None) -> None:
    due = due_item(SHEET, rows, 40)
    assert (None if due is None else due.number) == number
    assert (None if due is None else due.asked_s) == asked_s


@pytest.mark.parametrize(
    ("rows", "due"),
    [
        ([item(10, 1)], DueItem("2", "oxygen supply", "operator", "Ground checks")),
        ([item(10, 7)], DueItem("", "mask off on my mark", "conductor", "Mask off")),
    ],
)
def test_what_is_due_has_its_words_and_who_answers(rows: list[Event], due: DueItem) -> None:
    assert due_item(SHEET, rows, 40) == due


def test_the_state_of_a_run() -> None:
    rows = [item(10, 1), item(100, 6), call(300, "top", 18000), item(330, 7), cue(400)]
    reported = [
        NumberedRow(1, rows[0]),
        NumberedRow(2, item(100, 2, "skipped")),
        NumberedRow(3, Event(150, 151, "note", flags=("uncertain",))),
    ]
    recorder = RunState(
        channels=(ChannelState("conductor", -20.0), ChannelState("operator", -math.inf, "silent")),
        recording=False,
        fault="disk full",
        gate="open: item 3, outside watch",
        answer="no open items",
        behind_s=1.5,
    )
    newest = [Added(1, rows[0]), Corrected(3, rows[3], rows[3]), Withdrawn(4, rows[0])]
    state = run_state(SHEET, rows, 450, reported, newest, recorder)
    assert state == RunState(
        title="A small run",
        run_s=450,
        due=DueItem("8", "mask is clear", "attendant", "Mask off"),
        open=(
            OpenItem("2", "oxygen supply", "not heard"),
            OpenItem("4", "inner door", "not heard"),
            OpenItem("5", "outer door", "not heard"),
        ),
        last_cue=LastCue("masks-off", 50),
        last_altitude=LastValue(18000, "ft", 150),
        at_level=LevelTime(150, 600),
        channels=recorder.channels,
        recording=False,
        fault="disk full",
        gate="open: item 3, outside watch",
        answer="no open items",
        rows=(
            Row(1, 10, "item 1 intercom check: confirmed", "new"),
            Row(3, 330, "item 7 altitude stable: confirmed", "corrected"),
            Row(4, 10, "item 1 intercom check: confirmed", "withdrawn"),
        ),
        behind_s=1.5,
        findings=1,
    )


def test_the_state_before_anything_is_heard() -> None:
    state = run_state(SHEET, [], 3.0)
    assert state.due == DueItem("1", "intercom check", "attendant", "Ground checks")
    assert (state.open, state.last_cue, state.last_altitude, state.at_level) == (
        (),
        None,
        None,
        None,
    )
    assert (state.recording, state.findings, state.rows) == (True, 0, ())


@pytest.mark.parametrize(
    ("event", "text"),
    [
        (item(1, 1, "negative"), "item 1 intercom check: answered negative"),
        (
            Event(1, 2, "item", item="2", status="confirmed", value=1850, unit="psi"),
            "item 2 oxygen supply 1,850 psi: confirmed",
        ),
        (call(1, "climb", 10000), "callout climb 10,000 ft"),
        (
            Event(1, 2, "reading", item="heart-rate", value=72, unit="bpm"),
            "reading heart-rate 72 bpm",
        ),
        (cue(1), "cue masks-off"),
        (Event(1, 2, "hold", heard="hold the run"), "hold: hold the run"),
        (Event(1, 2, "note", heard="lunch"), "lunch"),
        (Event(1, 2, "note", heard="logbook mark visor", note="mark: visor"), "mark: visor"),
        (Event(1, 2, "note"), "talk"),
    ],
)
def test_a_row_in_one_line(event: Event, text: str) -> None:
    assert row_text(event, SHEET) == text
    assert shown(Added(5, event), SHEET) == Row(5, event.start, text, "new")
