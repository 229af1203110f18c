"""What the browser sends, as a decision, or refused in words."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.review_page.made_up import EVENTS, SHEET
from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.review_page.form import Form, decision_of

AT = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
FORM = Form(SHEET, EVENTS, seconds=12.0, reviewer="C-12")


def fields(**changed: Any) -> dict[str, Any]:
    return {
        "status": "confirmed", "value": None, "position": "operator", "heard": "", "flags": [],
        "start": None, **changed,
    }  # fmt: skip


def corrected(row: int, **changed: Any) -> dict[str, Any]:
    return {"verdict": "corrected", "row": row, "reason": "heard so", "event": fields(**changed)}


def added(kind: str, item: str = "", **changed: Any) -> dict[str, Any]:
    event = {"kind": kind, "item": item, **fields(**{"start": 6.5, **changed})}
    return {"verdict": "added", "reason": "missed", "event": event}


@pytest.mark.parametrize("verdict", ["stands", "cleared", "deferred"])
def test_a_word_on_a_row(verdict: str) -> None:
    sent = {"verdict": verdict, "row": 4, "reason": " a  cough\n"}
    decision = decision_of(sent, FORM, AT)
    assert (decision.reviewer, decision.at, decision.verdict) == ("C-12", AT, verdict)
    assert (decision.row, decision.event, decision.reason) == (4, None, "a cough")


@pytest.mark.parametrize(
    ("sent", "event"),
    [
        # off-limit follows from the value
        (
            corrected(2, value=1800, heard="one thousand eight hundred"),
            replace(EVENTS[1], value=1800.0, flags=(), heard="one thousand eight hundred", p=1.0),
        ),
        (
            corrected(2, value=2300),
            replace(EVENTS[1], value=2300.0, heard="", p=1.0),
        ),
        # another status, and the sure row is not uncertain any more
        (
            corrected(6, status="confirmed", value=5000, heard="passing five thousand"),
            replace(EVENTS[5], status="confirmed", flags=(), p=1.0),
        ),
        (
            corrected(6, status="", value=None, flags=["late", "misread"]),
            replace(
                EVENTS[5], status=None, flags=("misread", "late"), heard="", value=None, unit="",
                p=1.0,
            ),
        ),
        # heard at another moment
        (
            corrected(3, start=5.5, position="attendant", heard="shut"),
            replace(EVENTS[2], start=5.5, end=5.5, status="confirmed", heard="shut"),
        ),
    ],
)  # fmt: skip
def test_a_corrected_row(sent: dict[str, Any], event: Event) -> None:
    assert decision_of(sent, FORM, AT).event == event


@pytest.mark.parametrize(
    ("sent", "event"),
    [
        (
            added("item", "3", position="attendant", heard="shut", flags=["late"]),
            Event(6.5, 6.5, "item", "ground", "3", "attendant", "confirmed", ("late",), "shut"),
        ),
        (
            added("reading", "saturation", status="", value=60),
            Event(6.5, 6.5, "reading", "ground", "saturation", "operator", None, ("off-limit",),
                  value=60.0, unit="%"),
        ),
        (
            added("cue", "masks-off", status="", position="conductor"),
            Event(6.5, 6.5, "cue", "climb", "masks-off", "conductor"),
        ),
        (
            added("callout", "time-off", status="", value=20, start=9.5),
            Event(9.5, 9.5, "callout", "climb", "time-off", "operator", value=20.0, unit="s"),
        ),
        (
            added("hold", status="", position="", start=0),
            Event(0, 0, "hold", "ground"),
        ),
    ],
)  # fmt: skip
def test_an_added_event(sent: dict[str, Any], event: Event) -> None:
    decision = decision_of(sent, FORM, AT)
    assert (decision.row, decision.event) == (None, event)


@pytest.mark.parametrize(
    ("sent", "text"),
    [
        ([], "decision: missing"),
        ({}, "verdict None: unknown; choose one of stands"),
        ({"verdict": "signed", "row": 1}, "verdict 'signed': unknown"),
        ({"verdict": "stands"}, "row None: not in this log"),
        ({"verdict": "stands", "row": 0}, "row 0: not in this log"),
        ({"verdict": "stands", "row": 7}, "row 7: not in this log"),
        ({"verdict": "stands", "row": True}, "row True: not in this log"),
        ({"verdict": "stands", "row": "4"}, "row '4': not in this log"),
        ({"verdict": "stands", "row": 4, "reason": 5}, "reason: not text"),
        ({"verdict": "cleared", "row": 4, "reason": "  "}, "cleared: no reason"),
        ({"verdict": "corrected", "row": 4, "reason": "so"}, "event: missing"),
        ({"verdict": "stands", "row": 4, "reason": "x" * 2001}, "reason: 2001 characters"),
        (corrected(2, value="1800"), "value '1800': not a number"),
        (corrected(2, value=float("nan")), "value nan: not a number"),
        (corrected(2, value=True), "value True: not a number"),
        (corrected(2, status="done"), "status 'done': unknown"),
        (corrected(2, status=""), "status: an item has one"),
        (corrected(2, flags=["off-limit"]), "flag 'off-limit': unknown"),
        (corrected(2, flags="late"), "flags: not a list"),
        (corrected(2, position="cook"), "position 'cook': not on the sheet"),
        (corrected(2, start=12.5), "time 12.5: not in the recording"),
        (corrected(2, start="1"), "time '1': not in the recording"),
        (corrected(2, heard="x" * 1001), "words: more than 1000"),
        (corrected(2, value=1000, flags=[], heard="one thousand"), "corrected: nothing differs"),
        (added("item", "77"), "item '77': not on the sheet"),
        (added("hold", "3", status=""), "hold: has no item"),
        (added("party"), "kind 'party': unknown"),
        (added("item", "3", start=None), "time None: not in the recording"),
        ({**added("item", "3"), "reason": ""}, "added: no reason"),
    ],
)
def test_what_cannot_be_recorded_is_told(sent: Any, text: str) -> None:
    with pytest.raises(InputError) as found:
        decision_of(sent, FORM, AT)
    assert str(found.value).startswith(text)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)
NAMES = st.sampled_from([*fields(), "kind", "item"])


@given(st.sampled_from(["stands", "corrected", "added"]), JSON, JSON, st.dictionaries(NAMES, JSON))
def test_whatever_is_sent_is_a_decision_or_refused(
    verdict: str, row: Any, reason: Any, event: Any
) -> None:
    sent = {"verdict": verdict, "row": row, "reason": reason, "event": {"kind": "note", **event}}
    try:
        decision_of(sent, FORM, AT)
    except InputError as error:
        assert ";" in str(error)
