from dataclasses import replace

import pytest

from tests.debrief.made import EVENTS, SAID, a_run, decided
from voxlog.debrief.holds import Hold, holds_of
from voxlog.follow.event import Event

CALL = Event(40.0, 41.0, "hold", "climb", heard="hold the run")
RESUME = Event(52.0, 54.0, "resume", "climb", heard="resume at item four", value=4)


def test_a_hold_has_its_call_its_reason_and_where_it_was_taken_up() -> None:
    assert holds_of(a_run()) == [
        Hold(
            start=40.0,
            end=52.0,
            position="conductor",
            called="hold the run",
            resumed_at="4",
            reason=("Hold the run, the strap is loose", "The left strap has slipped"),
        )
    ]


@pytest.mark.parametrize(
    ("events", "spans"),
    [
        ([], []),
        ([CALL], [(40.0, None)]),
        ([CALL, RESUME], [(40.0, 52.0)]),
        # Called again while the work is stopped: the same hold.
        ([CALL, replace(CALL, start=44.0, end=45.0), RESUME], [(40.0, 52.0)]),
        ([CALL, RESUME, replace(CALL, start=60.0, end=61.0)], [(40.0, 52.0), (60.0, None)]),
        ([replace(RESUME, start=5.0, end=6.0), CALL], [(40.0, None)]),
    ],
)
def test_from_call_to_resume(events: list[Event], spans: list[tuple[float, float | None]]) -> None:
    assert [(hold.start, hold.end) for hold in holds_of(a_run(events))] == spans


def test_a_hold_that_a_reviewer_added_counts() -> None:
    run = a_run([RESUME], decisions=[decided(None, "added", "too quiet", event=CALL)])
    assert [(hold.start, hold.end) for hold in holds_of(run)] == [(40.0, 52.0)]


def test_what_is_said_much_later_is_no_reason() -> None:
    late = Event(101.0, 102.0, "note", "climb", heard="Lovely weather")
    assert holds_of(a_run([CALL, late], said=[]))[0].reason == ()


def test_receipts_are_no_reason_nor_is_the_call_itself() -> None:
    call_only = replace(SAID[4], text="Hold the run.")
    (hold,) = holds_of(a_run([EVENTS[5], EVENTS[7]], said=[call_only]))
    assert hold.reason == ()
