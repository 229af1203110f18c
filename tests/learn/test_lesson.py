"""What one decided row says of the sheet, and what it must not be taken to say."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from voxlog.follow.event import Event
from voxlog.learn.lesson import Lesson, Run, lessons_of
from voxlog.review.decision import Decision, Verdict
from voxlog.review.outcome import outcomes
from voxlog.sheet.load import read_sheet

TEXT = """
voxlog-sheet: 1
id: small
title: Small
source: invented
positions: {conductor: Conductor, attendant: Attendant, operator: Operator}
asks: conductor
within: 8
readings:
  - {id: saturation, by: attendant, unit: "%", min: 70, max: 100, low: 40}
phases:
  - id: ground
    title: Ground
    steps:
      - {item: 1, ask: mask hose, by: attendant, confirm: [connected, hose on], deny: not connected}
      - item: 2
        ask: supply pressure
        by: operator
        value: {unit: psi, min: 1600, max: 2200, low: 1000, high: 2500, step: 50}
    callouts:
      - {id: climb, by: operator, unit: ft, every: 5000, from: 5000, to: 9000}
"""
SHEET = read_sheet(TEXT)
AT = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
DENIED = Event(
    1.0, 3.0, "item", "ground", "1", "attendant", "negative", heard="mask hose / not connected"
)
ASKED = replace(DENIED, status="unconfirmed", heard="mask hose")
FINE = replace(DENIED, status="confirmed", heard="mask hose / connected")
VALUE = Event(
    5.0, 7.0, "item", "ground", "2", "operator", "confirmed", ("off-limit",), "x", 100.0, "psi"
)
CALL = Event(9.0, 9.5, "callout", "ground", "climb", "operator", heard="y", value=5000, unit="ft")
READ = Event(9.0, 9.5, "reading", "", "saturation", "attendant", heard="z", value=98.0, unit="%")


def decide(verdict: Verdict, event: Event | None = None, reviewer: str = "C-12") -> Decision:
    return Decision(reviewer, AT, verdict, None if verdict == "added" else 1, event, "because")


def learn(logged: Event | None, *decisions: Decision) -> list[tuple[str, ...]]:
    rows = outcomes([] if logged is None else [logged], decisions)
    lessons = lessons_of(Run("run", "seal", SHEET, rows, []), SHEET)
    return [tuple(filter(None, (le.kind, le.step, le.act, le.phrase, le.unit))) for le in lessons]


def said(text: str, start_ms: int, evidence: int | None = None) -> dict[str, Any]:
    heard = [] if evidence is None else [{"evidence_millinats": evidence}]
    return {"start_ms": start_ms, "text": text, "heard": heard}


NOW = replace(DENIED, status="confirmed", heard="mask hose / snug and tight")
UNHEARD = ("misheard", "1", "confirm")
MISHEARD = ("misheard", "1", "deny", "not connected")


@pytest.mark.parametrize(
    ("logged", "decisions", "lessons"),
    [
        # A response that the sheet lacks, as the reviewer wrote it.
        (ASKED, [decide("corrected", NOW)], [("response", "1", "confirm", "snug and tight")]),
        (
            DENIED,
            [decide("corrected", NOW)],
            [("response", "1", "confirm", "snug and tight"), MISHEARD],
        ),
        (
            FINE,
            [decide("corrected", replace(NOW, status="negative", heard="It's loose!"))],
            [("response", "1", "deny", "it's loose")],
        ),
        (None, [decide("added", NOW)], [("response", "1", "confirm", "snug and tight")]),
        # The sheet has it, so it was misheard.
        (DENIED, [decide("corrected", FINE)], [MISHEARD]),
        (DENIED, [decide("cleared")], [MISHEARD]),
        (ASKED, [decide("cleared")], [UNHEARD]),
        # Nothing is learnt from what is right, not decided, not agreed, or was no finding.
        (DENIED, [], []),
        (DENIED, [decide("stands")], []),
        (DENIED, [decide("deferred")], []),
        (DENIED, [decide("cleared"), decide("stands", None, "C-13")], []),
        (DENIED, [decide("cleared"), decide("deferred", None, "C-13")], []),
        (FINE, [decide("stands")], []),
        # Words that are not the answer's own, or no phrase.
        (ASKED, [decide("corrected", replace(NOW, heard="mask hose / affirm"))], [UNHEARD]),
        (ASKED, [decide("corrected", replace(NOW, heard="mask hose / roger"))], [UNHEARD]),
        (ASKED, [decide("corrected", replace(NOW, heard="mask hose / at 100"))], [UNHEARD]),
        (ASKED, [decide("corrected", replace(NOW, heard="mask hose"))], [UNHEARD]),
        (ASKED, [decide("corrected", replace(NOW, heard=" ".join(["on"] * 9)))], [UNHEARD]),
        # Units.
        (
            VALUE,
            [decide("corrected", replace(VALUE, value=120.0, unit="bar", flags=()))],
            [("unit", "2", "item", "bar")],
        ),
        (
            VALUE,
            [decide("corrected", replace(VALUE, heard="one hundred twenty bar", flags=()))],
            [("unit", "2", "item", "bar")],
        ),
        (
            VALUE,
            [decide("corrected", replace(VALUE, heard="one thousand seven hundred psi"))],
            [("own-unit", "2", "item", "psi")],
        ),
        (VALUE, [decide("stands")], [("own-unit", "2", "item", "psi")]),
        (VALUE, [], []),
        (
            CALL,
            [decide("corrected", replace(CALL, value=1500.0, unit="m"))],
            [("unit", "climb", "callout", "m")],
        ),
        (READ, [decide("stands")], [("own-unit", "saturation", "reading", "%")]),
    ],
)
def test_the_lessons_of_a_row(
    logged: Event | None, decisions: list[Decision], lessons: list[tuple[str, ...]]
) -> None:
    assert learn(logged, *decisions) == lessons


@pytest.mark.parametrize(
    ("utterances", "phrase"),
    [
        ([said("Mask hose.", 1000, 9000), said("All snug, sir.", 4000)], "all snug sir"),
        ([said("Mask hose, all snug.", 1000)], "all snug"),
        ([said("All snug.", 4000, -500)], "all snug"),
        ([said("Too late.", 11_100)], ""),
        ([said("Just in time.", 10_900)], "just in time"),
        ([said("Too early.", 900)], ""),
        ([said("All snug.", 4000, 200)], ""),
        ([said("100%", 4000)], ""),
    ],
)
def test_words_the_reviewer_left_are_taken_from_unexplained_speech(
    utterances: list[dict[str, Any]], phrase: str
) -> None:
    now = replace(ASKED, status="confirmed")
    rows = outcomes([ASKED], [decide("corrected", now)])
    lessons = lessons_of(Run("run", "seal", SHEET, rows, utterances), SHEET)
    responses = [lesson for lesson in lessons if lesson.kind == "response"]
    assert [lesson.phrase for lesson in responses] == ([phrase] if phrase else [])
    assert not any(lesson.is_written for lesson in responses)


def test_an_item_that_asks_something_else_now_is_left_alone() -> None:
    target = read_sheet(TEXT.replace("ask: mask hose", "ask: hose clamp"))
    rows = outcomes([DENIED], [decide("corrected", NOW)])
    run = Run("run", "seal", SHEET, rows, [])
    assert lessons_of(run, target) == []
    assert len(lessons_of(run, SHEET)) == 2


def test_a_lesson_names_its_row_and_reviewers() -> None:
    rows = outcomes(
        [FINE, DENIED],
        [
            Decision("C-12", AT, "cleared", 2, None, "x"),
            Decision("C-13", AT, "cleared", 2, None, "y"),
        ],
    )
    (lesson,) = lessons_of(Run("run-7", "seal", SHEET, rows, []), SHEET)
    assert lesson == Lesson(
        "misheard", "1", "run-7", "seal", 2, ("C-12", "C-13"), "deny", "not connected"
    )
