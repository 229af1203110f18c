import json
from datetime import UTC, datetime

import pytest

from tests.review_page.made_up import EVENTS, SHEET
from voxlog.follow.event import Event
from voxlog.review.decision import Decision
from voxlog.review_page.lines import Alternative, Line
from voxlog.review_page.rows import (
    clip_of,
    describe_decision,
    describe_lines,
    describe_row,
    parts,
    queue,
)


def test_the_queue_is_that_of_the_findings() -> None:
    assert queue(SHEET, EVENTS) == [4, 2, 3, 6]


@pytest.mark.parametrize(
    ("event", "clip"),
    [
        (Event(10.0, 12.0, "item", heard="x"), (7.0, 14.5)),
        # not before the start, nor after the end of the recording
        (Event(1.0, 2.0, "item", heard="x"), (0.0, 4.5)),
        (Event(98.0, 99.5, "item", heard="x"), (95.0, 100.0)),
        # nothing heard: the answer may lie beside the place
        (Event(50.0, 50.0, "item"), (42.0, 57.5)),
        # a long hold is not played whole
        (Event(5.0, 95.0, "hold", heard="x"), (2.0, 67.5)),
        # a log that goes on after its recording
        (Event(200.0, 201.0, "item", heard="x"), (197.0, 197.0)),
    ],
)
def test_the_clip_leads_in_and_out(event: Event, clip: tuple[float, float]) -> None:
    assert clip_of(event, seconds=100.0) == clip


def test_a_row_is_plain_json_in_words() -> None:
    row = describe_row(SHEET, 2, EVENTS[1], 12.0)
    assert json.loads(json.dumps(row)) == row
    assert row["finding"] == "outside limits: 1,000 psi"
    assert (row["mark"], row["order"], row["is_finding"]) == ("!!", 0, True)
    assert (row["value_text"], row["value_edit"], row["p"]) == ("1,000 psi", "1000", "90 %")
    assert row["wanted"][1] == {"term": "Value", "text": "1,600 to 2,200 psi"}


def test_a_row_without_finding_has_no_mark() -> None:
    row = describe_row(SHEET, 1, EVENTS[0], 12.0)
    assert (row["finding"], row["mark"], row["order"], row["is_finding"]) == ("", "", None, False)


def test_everything_on_the_sheet_can_be_added() -> None:
    found = [(part["kind"], part["item"]) for part in parts(SHEET)]
    assert found == [
        *(("item", n) for n in "12345"),
        ("cue", "masks-off"),
        ("callout", "climb"),
        ("callout", "time-off"),
        ("reading", "saturation"),
        *(("hold", ""), ("resume", ""), ("note", "")),
    ]
    assert all({"kind", "item", "name", "unit", "statuses"} <= part.keys() for part in parts(SHEET))


def test_a_decision_is_told_with_the_row_as_it_should_be() -> None:
    at = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
    told = describe_decision(Decision("C-12", at, "corrected", 2, EVENTS[1], "heard so"), 3, SHEET)
    assert told == {
        "n": 3,
        "reviewer": "C-12",
        "at": "2026-11-25T17:00:00.000000Z",
        "verdict": "corrected",
        "row": 2,
        "reason": "heard so",
        "event": "confirmed; off-limit; 1,000 psi; “one thousand”; Operator",
    }
    added = Decision("C-12", at, "added", None, EVENTS[0], "missed")
    assert describe_decision(added, 4, SHEET, added_row=7)["row"] == 7


def test_lines_are_told_with_their_shares() -> None:
    line = Line(
        1, 0.5, 1.0, "so", (Alternative("so", "affirm", 0.999), Alternative("no", "x", 0.2))
    )
    (told,) = describe_lines([line])
    assert [one["share"] for one in told["alternatives"]] == [">99 %", "20 %"]
