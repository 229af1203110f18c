"""A decision that exists can be recorded, and comes back as it was."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.review.decision import (
    REASON_LENGTH,
    VERDICTS,
    Decision,
    decode_decision,
    encode_decision,
    format_moment,
    parse_moment,
)

AT = datetime(2026, 11, 25, 17, 5, 6, 789_012, tzinfo=UTC)
ROW = Event(3.0, 4.5, "item", "ground", "2", "operator", "confirmed")
GOOD = Decision("C-12", AT, "corrected", 2, ROW, "the answer was drowned by the fan")


def test_a_line_says_who_when_what_and_why() -> None:
    fields = encode_decision(GOOD)
    assert {name: fields[name] for name in fields.keys() - {"event"}} == {
        "reviewer": "C-12",
        "at": "2026-11-25T17:05:06.789012Z",
        "verdict": "corrected",
        "row": 2,
        "reason": "the answer was drowned by the fan",
    }
    assert fields["event"]["status"] == "confirmed"


@given(
    reviewer=st.from_regex(r"[A-Z]{1,8}-?[0-9]{1,6}", fullmatch=True),
    at=st.datetimes(timezones=st.just(UTC) | st.just(timezone(timedelta(hours=-9.5)))),
    verdict=st.sampled_from(VERDICTS),
    row=st.integers(1, 10_000),
    start=st.floats(0, 1e5),
    reason=st.text(st.characters(exclude_categories=["Cs"]), min_size=1).filter(str.strip),
)
def test_what_is_written_is_read_again(
    reviewer: str, at: datetime, verdict: Any, row: int, start: float, reason: str
) -> None:
    event = replace(ROW, start=start, end=start + 1) if verdict in ("corrected", "added") else None
    number = None if verdict == "added" else row
    decision = Decision(reviewer, at, verdict, number, event, reason)
    assert decode_decision(encode_decision(decision)) == decision


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"reviewer": "Ann Miller"}, "'Ann Miller': not a code"),
        ({"reviewer": "c-12"}, "not a code"),
        ({"reviewer": ""}, "not a code"),
        ({"reviewer": "C-12\n"}, "not a code"),
        ({"at": datetime(2026, 11, 25)}, "without its zone"),
        ({"verdict": "wrong"}, "'wrong': unknown; use one of stands, cleared"),
        ({"row": 0}, "rows are counted from 1"),
        ({"row": None}, "not a row"),
        ({"row": True}, "not a row"),
        ({"event": None}, "corrected: needs the row as it should be"),
        ({"verdict": "stands"}, "stands: takes no row"),
        ({"verdict": "added"}, "give none"),
        ({"reason": " \n"}, "corrected: no reason"),
        ({"verdict": "cleared", "event": None, "reason": ""}, "cleared: no reason"),
        ({"verdict": "added", "row": None, "reason": ""}, "added: no reason"),
        ({"reason": "x" * (REASON_LENGTH + 1)}, "2001 characters"),
        ({"reason": "\ud83d"}, "half of a character"),
        ({"event": replace(ROW, end=1.0)}, "ends before it starts"),
        ({"event": replace(ROW, p=2.0)}, "between 0 and 1"),
    ],
)
def test_what_cannot_be_recorded_is_refused_in_words(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message) as refused:
        replace(GOOD, **changes)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("verdict", "reason"), [("stands", ""), ("deferred", ""), ("stands", "heard it twice")]
)
def test_to_agree_or_to_put_off_needs_no_reason(verdict: Any, reason: str) -> None:
    assert Decision("C-12", AT, verdict, 2, None, reason).reason == reason


def test_a_corrected_row_is_put_on_the_logs_grid() -> None:
    decision = replace(GOOD, event=replace(ROW, start=3.00001, p=0.98765))
    assert decision.event == replace(ROW, start=3.0, p=0.988)


@pytest.mark.parametrize(
    "changes",
    [
        {"verdict": "stands"},
        {"row": "2"},
        {"event": {"kind": "item"}},
        {"at": "2026-11-25T17:05:06Z"},
        {"at": "2026-11-25T17:05:06.789012+01:00"},
        {"at": "yesterday"},
        {"reviewer": None},
        {"reason": None},
        {"extra": 1},
    ],
)
def test_other_fields_are_no_decision(changes: dict[str, Any]) -> None:
    with pytest.raises(ValueError):
        decode_decision({**encode_decision(GOOD), **changes})


@given(st.datetimes(timezones=st.timezones()))
def test_a_moment_is_kept_to_the_microsecond(moment: datetime) -> None:
    try:
        utc = moment.astimezone(UTC)
    except OverflowError:
        return
    assert parse_moment(format_moment(moment)) == utc
