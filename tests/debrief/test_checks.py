from dataclasses import replace

import pytest

from tests.debrief.made import EVENTS, SAID, a_run, decided
from voxlog.debrief.checks import check_phases


def test_every_item_of_the_sheet_stands_in_its_phase() -> None:
    phases = check_phases(a_run())
    assert [(phase.title, [check.n for check in phase.checks]) for phase in phases] == [
        ("Ground checks", [1, 2, 3]),
        ("Climb", [14]),
    ]


def test_an_item_done_twice_has_two_rows_and_one_not_logged_says_so() -> None:
    again = replace(EVENTS[0], start=11.0, end=12.0, flags=("repeated",))
    (ground, climb) = check_phases(a_run([EVENTS[0], again], SAID))
    assert [(check.n, check.status) for check in ground.checks] == [
        (1, "confirmed"),
        (2, "confirmed"),
        (0, "not in the log"),
        (0, "not in the log"),
    ]
    assert ground.checks[1].words == "done or asked again"
    assert climb.checks[0].n == 0


def test_a_row_says_what_its_status_does_not() -> None:
    ground, climb = check_phases(a_run())
    first, value, spare = ground.checks
    assert (first.who, first.within_s, first.share) == ("Inside attendant", 8, 5.0)
    assert first.delay_s == pytest.approx(0.4)
    assert (value.status, value.words, value.mark, value.value) == (
        *("confirmed", "outside limits: 1,500 psi", "!!", "1,500 psi"),
    )
    assert (spare.status, spare.words, spare.who) == ("skipped", "optional, not heard", "")
    assert (climb.checks[0].status, climb.checks[0].words) == ("negative", "unsure, listen again")


def test_rows_stand_as_the_review_left_them() -> None:
    decisions = [decided(14, "cleared", "now sealed"), decided(2, "deferred", "ask")]
    ground, climb = check_phases(a_run(decisions=decisions))
    assert (climb.checks[0].status, climb.checks[0].mark) == ("confirmed", "")
    assert climb.checks[0].review == "review: cleared, logged as negative"
    assert (ground.checks[1].mark, ground.checks[1].review) == ("!!", "review: deferred")
