from dataclasses import replace

from tests.debrief.made import EVENTS, a_run, decided
from voxlog.follow.event import Event


def test_rows_stand_as_agreed_and_as_logged_until_then() -> None:
    corrected = replace(EVENTS[1], value=1800.0, flags=())
    run = a_run(
        decisions=[
            decided(2, "corrected", "one eight", event=corrected),
            decided(3, "cleared", "it was said"),
            decided(5, "deferred"),
        ]
    )
    assert run.row_now(1) == EVENTS[0]
    assert run.row_now(2) == corrected
    assert (run.row_now(3).status, run.row_now(3).flags) == ("confirmed", ())
    assert run.row_now(5) == EVENTS[4]


def test_added_rows_stand_in_their_time_until_they_are_taken_back() -> None:
    missed = Event(11.0, 11.5, "reading", "ground", "saturation", value=90, unit="%")
    added = decided(None, "added", "heard it", event=missed)
    assert a_run(decisions=[added]).rows_now()[2] == missed
    taken_back = decided(len(EVENTS) + 1, "cleared", "it was another run")
    assert a_run(decisions=[added, taken_back]).rows_now() == list(EVENTS)


def test_the_run_is_as_long_as_its_recording_or_its_log() -> None:
    assert a_run().seconds == 100
    assert a_run(positions=()).seconds == 93
    assert a_run([], positions=()).seconds == 1
