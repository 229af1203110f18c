"""The run as the page shows it, in plain JSON values. Pure."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from voxlog.follow.event import Event, Kind
from voxlog.log.finding import findings_of
from voxlog.log.record import format_decimal
from voxlog.report.words import describe_findings, format_percent, format_value, severity
from voxlog.review.decision import Decision, format_moment
from voxlog.review_page.form import ASKED_FLAGS, statuses_of
from voxlog.review_page.lines import Line
from voxlog.review_page.names import phase_title, position_title, row_name
from voxlog.review_page.queue import review_order
from voxlog.review_page.wanted import wanted
from voxlog.sheet.model import Sheet
from voxlog.sheet.parts import Callout, Elapsed, Item

__all__ = ["clip_of", "describe_decision", "describe_lines", "describe_row", "parts", "queue"]

LEAD_S, TAIL_S = 3.0, 2.5
LONGEST_S = 60.0
AROUND_NOTHING_S = 5.0
"""Where nothing was heard, more is played: the answer may lie beside the place."""


def queue(sheet: Sheet, events: Sequence[Event]) -> list[int]:
    """Numbers of the rows to decide on, in the order in which they are looked at."""
    optional = {item.key for item in sheet.items if not item.mandatory}
    return list(review_order(enumerate(events, 1), optional))


def clip_of(event: Event, seconds: float) -> tuple[float, float]:
    """From when to when a row is played."""
    extra = 0.0 if event.heard else AROUND_NOTHING_S
    start = max(0.0, event.start - LEAD_S - extra)
    end = min(event.end, event.start + LONGEST_S) + TAIL_S + extra
    return round(start, 3), round(max(start, min(end, seconds)), 3)


def describe_row(sheet: Sheet, number: int, event: Event, seconds: float) -> dict[str, Any]:
    """Everything about one row that does not change while it is reviewed."""
    is_optional = event.kind == "item" and any(
        item.key == event.item and not item.mandatory for item in sheet.items
    )
    worst = severity(event, is_optional=is_optional)
    return {
        "n": number,
        "kind": event.kind,
        "name": row_name(sheet, event),
        "phase": phase_title(sheet, event.phase),
        "start": round(event.start, 3),
        "end": round(event.end, 3),
        "status": event.status,
        "flags": list(event.flags),
        "asked_flags": list(ASKED_FLAGS),
        "statuses": list(statuses_of(event.kind)),
        "value": event.value,
        "value_text": "" if event.value is None else format_value(event.value, event.unit),
        "value_edit": "" if event.value is None else format_decimal(event.value),
        "unit": event.unit,
        "position": event.position,
        "who": position_title(sheet, event.position),
        "heard": event.heard,
        "note": event.note,
        "p": format_percent(event.p),
        "is_finding": bool(findings_of(event)),
        "finding": describe_findings(event, is_optional=is_optional),
        "order": None if worst is None else worst.order,
        "mark": "" if worst is None else worst.mark,
        "wanted": [line._asdict() for line in wanted(sheet, event)],
        "clip": list(clip_of(event, seconds)),
    }


def describe_decision(
    decision: Decision, number: int, sheet: Sheet, added_row: int | None = None
) -> dict[str, Any]:
    """number: its place among all decisions, from 1. added_row: the row that it added."""
    event = decision.event
    return {
        "n": number,
        "reviewer": decision.reviewer,
        "at": format_moment(decision.at),
        "verdict": decision.verdict,
        "row": added_row or decision.row,
        "reason": decision.reason,
        "event": None if event is None else _in_words(sheet, event),
    }


def describe_lines(lines: Iterable[Line]) -> list[dict[str, Any]]:
    return [
        {
            "channel": line.channel,
            "start": line.start,
            "end": line.end,
            "text": line.text,
            "alternatives": [
                {"text": one.text, "what": one.what, "share": format_percent(one.share)}
                for one in line.alternatives
            ],
        }
        for line in lines
    ]


def parts(sheet: Sheet) -> list[dict[str, Any]]:
    """What can be added: every item, cue, callout and reading of the sheet, and the nameless."""
    nameless: tuple[Kind, ...] = ("hold", "resume", "note")
    return [*_steps(sheet), *_calls(sheet), *(_part(kind, "", kind, "") for kind in nameless)]


def _steps(sheet: Sheet) -> Iterator[dict[str, Any]]:
    for _, step in sheet.steps:
        if isinstance(step, Item):
            unit = step.value.unit if step.value else ""
            yield _part("item", step.key, f"{step.key} {step.ask[0]}", unit)
        else:
            yield _part("cue", step.id, f"cue {step.id}", "")


def _calls(sheet: Sheet) -> Iterator[dict[str, Any]]:
    for phase in sheet.phases:
        calls: tuple[Callout | Elapsed, ...] = (*phase.callouts, *phase.elapsed)
        for call in calls:
            yield _part("callout", call.id, f"call {call.id}", call.unit)
    for reading in (*sheet.readings, *(one for phase in sheet.phases for one in phase.readings)):
        yield _part("reading", reading.id, f"reading {reading.id}", reading.unit)


def _part(kind: Kind, item: str, name: str, unit: str) -> dict[str, Any]:
    return {
        "kind": kind,
        "item": item,
        "name": name,
        "unit": unit,
        "statuses": list(statuses_of(kind)),
    }


def _in_words(sheet: Sheet, event: Event) -> str:
    """A corrected or added row in one line."""
    value = "" if event.value is None else format_value(event.value, event.unit)
    said = f"“{event.heard}”" if event.heard else ""
    who = position_title(sheet, event.position)
    return "; ".join(filter(None, (event.status, *event.flags, value, said, who)))
