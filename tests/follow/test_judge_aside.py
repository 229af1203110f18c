"""Callouts and read-backs, times, readings, holds and talk, as tables of what was said when."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from tests.follow.cases import FLIGHT, weighed
from tests.follow.scenario import shown
from voxlog.follow.event import Event
from voxlog.follow.judge_aside import Spoken, judge_asides

GIVEN = Event(start=100.0, end=100.4, kind="cue", phase="plateau", item="masks-off")
ANNOUNCED = replace(GIVEN, status="unconfirmed")


def judged(
    *said: tuple[float, dict[str, float]], phase: str = "ascent", cues: Sequence[Event] = (GIVEN,)
) -> list[Event]:
    """Rows of what was said: seconds, and evidence by the words. An utterance lasts one second."""
    spoken = [Spoken(weighed(FLIGHT, start, **heard), phase) for start, heard in said]
    return judge_asides(FLIGHT.sheet, spoken, cues)


def rows(*said: tuple[float, dict[str, float]], phase: str = "ascent") -> list[str]:
    return [" ".join(shown(event)) for event in judged(*said, phase=phase)]


FIVE, TEN = {"passing_five_thousand": 5.0}, {"passing_ten_thousand": 5.0}


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        # Read back right, by the bare number or in the same words.
        ([(0, FIVE), (3, {"five_thousand": 5.0})], ["callout climb confirmed - 5000"]),
        ([(0, FIVE), (3, FIVE)], ["callout climb confirmed - 5000"]),
        (
            [(0, FIVE), (3, {"flight_level_zero_five_zero": 5.0})],
            ["callout climb confirmed - 5000"],
        ),
        # Read back wrong.
        ([(0, FIVE), (3, {"six_thousand": 5.0})], ["callout climb unconfirmed misread 5000"]),
        # In time up to 6 s after the end, then late, and much later no read-back at all.
        ([(0, FIVE), (7, {"five_thousand": 5.0})], ["callout climb confirmed - 5000"]),
        ([(0, FIVE), (7.1, {"five_thousand": 5.0})], ["callout climb confirmed late 5000"]),
        # Not read back: at the end, before the next level, or because of a receipt only.
        ([(0, FIVE)], ["callout climb unconfirmed - 5000"]),
        (
            [(0, FIVE), (30, TEN), (33, {"ten_thousand": 5.0})],
            ["callout climb unconfirmed - 5000", "callout climb confirmed - 10000"],
        ),
        (
            [(0, FIVE), (2, {"roger": 5.0})],
            ["callout climb unconfirmed - 5000", "note - - - -"],
        ),
        # The next level is no late read-back of the last one; another value is.
        (
            [(0, FIVE), (9, {"ten_thousand": 5.0}), (12, {"ten_thousand": 5.0})],
            ["callout climb unconfirmed - 5000", "callout climb confirmed - 10000"],
        ),
        (
            [(0, FIVE), (9, {"six_thousand": 5.0})],
            ["callout climb unconfirmed misread;late 5000"],
        ),
        # In time, whatever the value.
        (
            [(0, FIVE), (3, {"ten_thousand": 5.0})],
            ["callout climb unconfirmed misread 5000"],
        ),
        # A reading between a callout and its read-back disturbs nothing.
        (
            [(0, FIVE), (2, {"saturation_ninety": 5.0}), (4, {"five_thousand": 5.0})],
            ["callout climb confirmed - 5000", "reading saturation - - 90"],
        ),
        # What the read-back was is unclear.
        (
            [(0, FIVE), (3, {"five_thousand": 3.0, "six_thousand": 2.9})],
            ["callout climb confirmed uncertain 5000"],
        ),
        (
            [(0, FIVE), (3, {"five_thousand": 2.9, "six_thousand": 3.0})],
            ["callout climb confirmed uncertain 5000"],
        ),
        # A level that is due is no likelier a read-back than any other wrong one.
        (
            [(0, FIVE), (3, {"six_thousand": 3.1, "ten_thousand": 3.0, "five_thousand": 0.0})],
            ["callout climb unconfirmed misread;uncertain 5000"],
        ),
        # A level that is never due needs clearer speech than one that is.
        (
            [(0, {"passing_five_thousand": 3.0, "passing_six_thousand": 5.0})],
            ["callout climb unconfirmed - 5000"],
        ),
        (
            [(0, {"passing_five_thousand": 0.0, "passing_six_thousand": 8.0})],
            ["callout climb unconfirmed - 6000"],
        ),
    ],
)
def test_callouts(said: list[tuple[float, dict[str, float]]], expected: list[str]) -> None:
    assert rows(*said) == expected


UNCLEAR = {"passing_five_thousand": -6.0}


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        # Read back just after speech that nobody made out: that was the call.
        (
            [(0, UNCLEAR), (2, {"roger_five_thousand": -3.5})],
            ["note - - - -", "callout climb confirmed uncertain 5000"],
        ),
        # Not so soon after it, or after nothing: clearer speech is needed, and is a call.
        ([(0, UNCLEAR), (3.1, {"roger_five_thousand": -3.5})], ["note - - - -", "note - - - -"]),
        ([(0, {"roger_five_thousand": -3.5})], ["note - - - -"]),
        ([(0, {"roger_five_thousand": 5.0})], ["callout climb unconfirmed - 5000"]),
        # What may be a call is one, whatever was said before it.
        (
            [(0, UNCLEAR), (2, {"passing_five_thousand": 2.0})],
            ["note - - - -", "callout climb unconfirmed - 5000"],
        ),
        # Where a call waits, it is that call's.
        (
            [(0, FIVE), (2, UNCLEAR), (4, {"roger_five_thousand": 2.0})],
            ["callout climb confirmed - 5000", "note - - - -"],
        ),
    ],
)
def test_a_read_back_that_no_call_waits_for(
    said: list[tuple[float, dict[str, float]]], expected: list[str]
) -> None:
    assert rows(*said) == expected


def test_the_row_of_a_read_back_alone_begins_with_the_call_that_nobody_made_out() -> None:
    *_, row = judged((10, UNCLEAR), (12, {"roger_five_thousand": 3.0}))
    assert (row.start, row.end, row.note) == (10, 13, "its call was not made out")


def test_the_row_of_a_callout_lasts_to_the_end_of_its_read_back() -> None:
    (row,) = judged((10, FIVE), (13, {"five_thousand": 5.0}))
    assert (row.start, row.end, row.unit, row.position) == (10, 14, "ft", "operator")
    assert row.heard == "passing five thousand / five thousand"


def test_the_level_that_is_due_is_the_likelier_one() -> None:
    """After 5,000 comes 10,000: of two that sound alike it is taken, until it has been called."""
    unclear = {"passing_ten_thousand": 3.0, "passing_two_thousand": 3.5}
    read_back = (3, {"five_thousand": 5.0})
    found = rows((0, FIVE), read_back, (30, unclear))
    assert found[-1].endswith(" 10000")


@pytest.mark.parametrize(
    ("start", "words", "expected"),
    [
        # The cue was at 100 s; 3 s off are allowed.
        (120, "time_twenty", "callout time-off - - 20"),
        (117, "time_twenty", "callout time-off - - 20"),
        (123, "time_twenty", "callout time-off - - 20"),
        (123.1, "time_twenty", "callout time-off - late 20"),
        (116.9, "time_twenty", "callout time-off - late 20"),
        (160, "time_one_minute", "callout time-off - - 60"),
        # Before the cue there is nothing to be late for.
        (90, "time_twenty", "callout time-off - - 20"),
    ],
)
def test_elapsed_times(start: float, words: str, expected: str) -> None:
    (row,) = judged((start, {words: 6.0}), phase="plateau")
    assert " ".join(shown(row)) == expected
    assert row.unit == "s"


@pytest.mark.parametrize(
    ("called", "expected"),
    [
        # Announced at 100 s, given some seconds later: nobody knows how many.
        ([(125, "time_twenty")], ["- 20"]),
        ([(125, "time_twenty"), (164, "time_one_minute")], ["- 20", "- 60"]),
        ([(125, "time_twenty"), (168.1, "time_one_minute")], ["- 20", "late 60"]),
        # A time that is never due says nothing.
        ([(125, "time_two_five"), (168.1, "time_one_minute")], ["- 25", "- 60"]),
    ],
)
def test_times_are_late_by_the_first_one_where_the_go_word_was_not_heard(
    called: list[tuple[float, str]], expected: list[str]
) -> None:
    said = [(start, {words: 6.0}) for start, words in called]
    found = judged(*said, phase="plateau", cues=[ANNOUNCED])
    assert [" ".join(shown(row)).removeprefix("callout time-off - ") for row in found] == expected


@pytest.mark.parametrize("before", [replace(cue, start=60.0) for cue in (GIVEN, ANNOUNCED)])
@pytest.mark.parametrize(("again", "flags"), [(GIVEN, ("late",)), (ANNOUNCED, ())])
def test_times_go_by_the_last_time_that_the_cue_was_given(
    before: Event, again: Event, flags: tuple[str, ...]
) -> None:
    (row,) = judged((125, {"time_twenty": 6.0}), phase="plateau", cues=[before, again])
    assert row.flags == flags


@pytest.mark.parametrize(
    ("never_due", "value"),
    [(4.0, 20.0), (6.0, 25.0)],
)
def test_a_time_that_is_never_due_needs_clearer_speech(never_due: float, value: float) -> None:
    """Six seconds late, so that no time is due at that moment."""
    said = {"time_two_zero": 2.0, "time_two_five": never_due}
    (row,) = judged((126.0, said), phase="plateau")
    assert row.value == value


@pytest.mark.parametrize(
    ("start", "clear", "expected"),
    [
        # Every 20 s: nearer to its own time than to any other, and not.
        (129.9, 1.0, "callout time-off - late 20"),
        (130.1, 1.0, "note - - - -"),
        (130.1, 6.0, "callout time-off - late 20"),
        (219.9, 1.0, "note - - - -"),
    ],
)
def test_a_time_that_is_due_at_another_moment_needs_clearer_speech(
    start: float, clear: float, expected: str
) -> None:
    (row,) = judged((start, {"time_twenty": clear}), phase="plateau")
    assert " ".join(shown(row)) == expected


@pytest.mark.parametrize(
    ("heard", "expected"),
    [
        ({"saturation_seventy_five": 5.0}, "reading saturation - - 75"),
        ({"subject_saturation_seven_five": 5.0}, "reading saturation - - 75"),
        ({"saturation_seventy_four": 5.0}, "reading saturation - off-limit 74"),
        (
            {"saturation_eighty": 5.0, "saturation_eighty_one": 4.9},
            "reading saturation - uncertain 80",
        ),
        ({"saturation_eighty": 5.0, "saturation_eight_zero": 4.9}, "reading saturation - - 80"),
        ({"hold_the_run": 5.0}, "hold - - - -"),
        ({"roger": 5.0}, "note - - - -"),
        ({}, "note - - - -"),
        ({"saturation_eighty": -6.0}, "note - - - -"),
    ],
)
def test_readings_holds_and_talk(heard: dict[str, float], expected: str) -> None:
    assert rows((0, heard)) == [expected]


def test_a_note_keeps_what_was_said() -> None:
    (row,) = judged((3, {"saturation_eighty": -6.0}))
    assert (row.start, row.end, row.phase, row.heard) == (3, 4, "ascent", "saturation eighty")


def test_p_falls_with_doubt_about_the_act_and_the_value() -> None:
    def p(**heard: float) -> float:
        return judged((0, heard))[0].p

    clear = p(saturation_eighty=6.0)
    assert clear > 0.97
    assert p(saturation_eighty=0.0) < clear - 0.1
    assert p(saturation_eighty=6.0, saturation_eighty_one=5.0) < clear - 0.1
