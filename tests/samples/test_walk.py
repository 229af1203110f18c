"""Each deviation leaves the rows it stands for, and no other finding."""

from pathlib import Path

import pytest

from tests.samples.rehearse import rehearse, write_scenario
from voxlog.errors import InputError
from voxlog.follow.event import Event

PLANTS = {
    # plant: the findings it leaves, as "item status flags"
    "skip: 4": ["4 skipped"],
    "swap: 19": ["19 confirmed out-of-order"],
    "unanswered: 8": ["8 unconfirmed"],
    "receipt: 8": ["8 unconfirmed"],
    "deny: 6": ["6 negative"],
    "off-limit: 2": ["2 confirmed off-limit"],
    "off-limit-reading: {at: 7, reading: saturation}": ["saturation - off-limit"],
    "misread: climb 15000": ["climb unconfirmed misread"],
    "no-read-back: climb 5000": ["climb unconfirmed"],
    "no-callout: climb 10000": ["climb skipped"],
    "self-answered: 5": ["5 confirmed self-answered"],
    "late: 5": ["5 confirmed late"],
    "late-call: time-off 20": ["time-off - late"],
    # Nothing that a person must look at:
    "ask-twice: 5": [],
    "say-again: 5": [],
    "stand-by: 5": [],
    "correction: 2": [],
    "no-challenge: 5": [],
    "disregard: 5": [],
    "one-breath: 5": [],
    "no-pause: 5": [],
    "hold: {at: 7, resume: 5}": [],
    "chatter: {at: 5, say: the mask hose was new last week}": [],
    "skip-phase: ascent": ["11 skipped", "climb skipped", "climb skipped", "climb skipped"],
}


def findings(events: list[Event]) -> list[str]:
    found = []
    for event in events:
        flags = [flag for flag in event.flags if flag != "repeated"]
        if flags or event.status not in (None, "confirmed"):
            found.append(" ".join([event.item, event.status or "-", *flags]))
    return found


def rows(events: list[Event], item: str) -> list[Event]:
    return [event for event in events if event.item == item]


@pytest.mark.parametrize(("plant", "expected"), PLANTS.items(), ids=PLANTS)
def test_a_deviation_leaves_its_findings_and_no_others(
    plant: str, expected: list[str], tmp_path: Path
) -> None:
    assert findings(rehearse(write_scenario(tmp_path, plant))) == expected


def test_every_item_has_one_row_in_a_run_without_deviations(tmp_path: Path) -> None:
    events = rehearse(write_scenario(tmp_path, "no-pause: 1"))
    items = [event.item for event in events if event.kind == "item"]
    assert items == [str(number) for number in range(1, 21)]


def test_items_done_again_after_a_resume_are_new_rows_flagged_repeated(tmp_path: Path) -> None:
    events = rehearse(write_scenario(tmp_path, "hold: {at: 7, resume: 5}"))
    flags = {item: [e.flags for e in rows(events, item)] for item in ("4", "5", "7", "8")}
    assert flags == {
        "4": [()],
        "5": [(), ("repeated",)],
        "7": [(), ("repeated",)],
        "8": [()],
    }
    resumed = next(event for event in events if event.kind == "resume")
    assert resumed.value == 5


@pytest.mark.parametrize("plant", ["ask-twice: 5", "say-again: 5"])
def test_an_item_asked_again_at_once_is_one_row_flagged_repeated(
    plant: str, tmp_path: Path
) -> None:
    (row,) = rows(rehearse(write_scenario(tmp_path, plant)), "5")
    assert (row.flags, row.status) == (("repeated",), "confirmed")


def test_a_corrected_value_is_the_value_and_the_first_stands_in_the_note(tmp_path: Path) -> None:
    (row,) = rows(rehearse(write_scenario(tmp_path, "correction: 2")), "2")
    assert row.value is not None
    assert 1600 <= row.value <= 2200
    assert row.note.startswith("corrected from ")
    assert float(row.note.split()[-1]) != row.value


def test_an_answer_without_its_challenge_says_so(tmp_path: Path) -> None:
    (row,) = rows(rehearse(write_scenario(tmp_path, "no-challenge: 5")), "5")
    assert (row.status, row.note) == ("confirmed", "challenge not heard")
    assert "oxygen regulator" not in row.heard


def test_a_skipped_item_stands_where_the_next_step_was_done(tmp_path: Path) -> None:
    events = rehearse(write_scenario(tmp_path, "skip: 4"))
    (skipped,), (following,) = rows(events, "4"), rows(events, "5")
    assert skipped.start == skipped.end == following.start


def test_a_level_not_called_stands_where_the_next_level_was_called(tmp_path: Path) -> None:
    levels = rows(rehearse(write_scenario(tmp_path, "no-callout: climb 10000")), "climb")
    at = {event.value: event.start for event in levels}
    assert at[10_000] == at[15_000] > at[5_000]


def test_the_cue_is_the_go_word_and_elapsed_times_count_from_it(tmp_path: Path) -> None:
    events = rehearse(write_scenario(tmp_path, "late-call: time-off 40"))
    (cue,) = rows(events, "masks-off")
    assert cue.heard == "now"
    off = [e.start - cue.start - (e.value or 0) for e in rows(events, "time-off")]
    assert abs(off[0]) <= 3 < off[1]


def test_the_same_seed_gives_the_same_script(tmp_path: Path) -> None:
    path = write_scenario(tmp_path, "skip: 4", "deny: 6")
    assert rehearse(path) == rehearse(path)


@pytest.mark.parametrize(
    ("plants", "words"),
    [
        (("swap: 13",), "needs an item right after it"),  # a cue follows
        (("skip: 4", "deny: 4"), "deny at 4 found no place"),
        (("skip-phase: ascent", "misread: climb 5000"), "misread at climb 5000 found no place"),
    ],
)
def test_deviations_that_do_not_fit_together_are_refused(
    plants: tuple[str, ...], words: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=words):
        rehearse(write_scenario(tmp_path, *plants))
