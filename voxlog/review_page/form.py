"""What the browser sent, as a decision: checked, and the row as it should be worked out. Pure.

A corrected row is the log's row with the fields of the form, and sure (p = 1), for a person has
listened. `off-limit` is not asked for: it follows from the value and the sheet's limits.
`uncertain` is dropped.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, TypeGuard, TypeVar, get_args

from voxlog.errors import InputError
from voxlog.follow.event import FLAGS, KINDS, STATUSES, Event, Flag, Kind, Status
from voxlog.review.decision import Decision, Verdict
from voxlog.review_page.names import Part, part_of
from voxlog.sheet.model import Sheet
from voxlog.sheet.parts import Cue, Item, Reading, ValueSpec

__all__ = ["ASKED_FLAGS", "Form", "decision_of", "statuses_of"]

ASKED_FLAGS: tuple[Flag, ...] = ("out-of-order", "misread", "self-answered", "late")
"""Flags that the form asks for; `repeated` stays as it is, the others follow."""

LONGEST_WORDS = 1000

_Word = TypeVar("_Word", bound=str)


@dataclass(frozen=True, slots=True)
class Form:
    """A review in the making: what decisions are checked against.

    rows: the log's rows, then the added ones, so that row n is rows[n - 1]. seconds: length of the
    recording.
    """

    sheet: Sheet
    rows: tuple[Event, ...]
    seconds: float
    reviewer: str


def decision_of(sent: Any, form: Form, at: datetime) -> Decision:
    """The decision in a JSON object; InputError says what is wrong with it."""
    fields = _mapping(sent, "decision")
    verdict = _word(fields, "verdict", get_args(Verdict))
    row = fields.get("row")
    event = None
    if verdict == "added":
        event = _added(_mapping(fields.get("event"), "event"), form)
    elif type(row) is not int or not 1 <= row <= len(form.rows):
        raise InputError(f"row {row!r:.20}: not in this log; load the page again")
    elif verdict == "corrected":
        event = _corrected(_mapping(fields.get("event"), "event"), form, form.rows[row - 1])
    reason = " ".join(_text(fields, "reason").split())
    return Decision(form.reviewer, at, verdict, row if verdict != "added" else None, event, reason)


def statuses_of(kind: Kind) -> tuple[Status, ...]:
    """What a row of this kind can be; empty where there is nothing to be confirmed."""
    return STATUSES if kind in ("item", "callout") else ()


def _corrected(fields: Mapping[str, Any], form: Form, event: Event) -> Event:
    start = event.start if fields.get("start") is None else _moment(fields, form)
    whole = _filled(replace(event, start=start, end=start + event.end - event.start), fields, form)
    if replace(whole, p=event.p) == event:
        raise InputError(
            "corrected: nothing differs from the log; change a field, or say it stands"
        )
    return whole


def _added(fields: Mapping[str, Any], form: Form) -> Event:
    kind = _word(fields, "kind", KINDS)
    item = _text(fields, "item")
    start = _moment(fields, form)
    phase = _phase_at(form, kind, item, start)
    if kind in ("item", "callout", "reading", "cue"):
        if part_of(form.sheet, kind, item, phase) is None:
            raise InputError(f"{kind} {item!r:.50}: not on the sheet; choose one that is")
    elif item:
        raise InputError(f"{kind}: has no item; leave it out")
    return _filled(Event(start, start, kind, phase=phase, item=item), fields, form)


def _phase_at(form: Form, kind: Kind, item: str, start: float) -> str:
    """The phase an item or a cue stands in; for the others that of the row before."""
    for phase, step in form.sheet.steps:
        if step.key == item and kind == ("item" if isinstance(step, Item) else "cue"):
            return phase.id
    before = [row for row in form.rows if row.start <= start and row.phase]
    latest = max(before, key=lambda row: row.start, default=None)
    return latest.phase if latest else form.sheet.phases[0].id


def _filled(event: Event, fields: Mapping[str, Any], form: Form) -> Event:
    position = _text(fields, "position")
    if position not in ("", event.position, *form.sheet.positions):
        raise InputError(f"position {position!r:.50}: not on the sheet; choose one that is")
    value = _value(fields)
    flags = {_word({"flag": flag}, "flag", ASKED_FLAGS) for flag in _list(fields, "flags")}
    flags |= {flag for flag in event.flags if flag == "repeated"}
    part = part_of(form.sheet, event.kind, event.item, event.phase)
    spoken = part.value if isinstance(part, Item) else part
    unit = event.unit if spoken is None or isinstance(spoken, Cue) else spoken.unit
    if value is not None and _is_off_limit(value, spoken):
        flags.add("off-limit")
    return replace(
        event,
        position=position,
        status=_status(fields, event.kind),
        flags=tuple(flag for flag in FLAGS if flag in flags),
        heard=_words(fields),
        value=value,
        unit="" if value is None else unit,
        p=1.0,
    )


def _is_off_limit(value: float, spoken: ValueSpec | Part | None) -> bool:
    return isinstance(spoken, ValueSpec | Reading) and not spoken.is_within_limits(value)


def _status(fields: Mapping[str, Any], kind: Kind) -> Status | None:
    text = _text(fields, "status")
    if kind == "item" and not text:
        raise InputError("status: an item has one; choose it")
    return _word(fields, "status", statuses_of(kind)) if text else None


def _value(fields: Mapping[str, Any]) -> float | None:
    value = fields.get("value")
    if value is None:
        return None
    if not _is_number(value) or not math.isfinite(value) or abs(value) > 1e9:
        raise InputError(f"value {value!r:.20}: not a number that can be spoken; write figures")
    return float(value)


def _moment(fields: Mapping[str, Any], form: Form) -> float:
    start = fields.get("start")
    if not _is_number(start) or not 0 <= start <= form.seconds:
        raise InputError(
            f"time {start!r:.20}: not in the recording; write minutes and seconds, as 12:30"
        )
    return float(start)


def _is_number(sent: Any) -> TypeGuard[float]:
    return isinstance(sent, int | float) and not isinstance(sent, bool)


def _words(fields: Mapping[str, Any]) -> str:
    text = " ".join(_text(fields, "heard").split())
    if len(text) > LONGEST_WORDS:
        raise InputError(f"words: more than {LONGEST_WORDS} characters; shorten them")
    return text


def _text(fields: Mapping[str, Any], name: str) -> str:
    text = fields.get(name, "")
    if not isinstance(text, str):
        raise InputError(f"{name}: not text; load the page again")
    return text


def _list(fields: Mapping[str, Any], name: str) -> list[Any]:
    every = fields.get(name, [])
    if not isinstance(every, list):
        raise InputError(f"{name}: not a list; load the page again")
    return every


def _mapping(sent: Any, name: str) -> Mapping[str, Any]:
    if not isinstance(sent, dict):
        raise InputError(f"{name}: missing; load the page again")
    return sent


def _word(fields: Mapping[str, Any], name: str, words: tuple[_Word, ...]) -> _Word:
    sent = fields.get(name)
    for word in words:
        if sent == word:
            return word
    raise InputError(f"{name} {sent!r:.50}: unknown; choose one of {', '.join(words)}")
