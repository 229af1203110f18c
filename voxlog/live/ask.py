"""Answers to what is asked of the log, as text to be shown and spoken. Pure."""

from collections.abc import Sequence

from voxlog.follow.event import Event
from voxlog.follow.query import Query
from voxlog.live.gate import open_behind, open_of
from voxlog.live.level import stay
from voxlog.report.words import format_value
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import reading_name

__all__ = ["answer", "spoken_time"]

NAMED = 3
"""Open items named one by one in an answer; more are counted."""


def answer(query: Query, sheet: Sheet, events: Sequence[Event], now: float) -> str:
    """The answer in a few words; "" for a call that no question followed.

    events: all rows so far, in order of time. now: seconds from the start of the recording.
    """
    match query.act:
        case "ask-open":
            return _open(sheet, events)
        case "ask-time":
            return _time_at_level(sheet, events, now)
        case "ask-reading":
            return _last_reading(query.reading, events, now)
        case "mark":
            return f"marked at {spoken_time(query.start)}"
        case "correct-item":
            return _correction(query.item, sheet, events)
        case _:
            return ""


def spoken_time(seconds: float) -> str:
    """A length of time in minutes and seconds: "4 minutes 10 seconds", "1 second"."""
    minutes, rest = divmod(int(seconds), 60)
    parts = [_counted(minutes, "minute")] if minutes else []
    if rest or not minutes:
        parts.append(_counted(rest, "second"))
    return " ".join(parts)


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def _open(sheet: Sheet, events: Sequence[Event]) -> str:
    items = open_behind(sheet, events)
    if not items:
        return "no open items"
    named = "; ".join(f"item {item.number}, {item.words}" for item in items[:NAMED])
    more = f"; and {len(items) - NAMED} more" if len(items) > NAMED else ""
    return f"open: {named}{more}"


def _time_at_level(sheet: Sheet, events: Sequence[Event], now: float) -> str:
    found = stay(sheet, events)
    if found is None:
        return "not at a level"
    spent = now - found.since
    text = f"at {format_value(found.level, found.unit)} for {spoken_time(spent)}"
    if found.limit is None:
        return text
    left = found.limit - spent
    if left < 0:
        return f"{text}, {spoken_time(-left)} over the limit"
    return f"{text}, {spoken_time(left)} left"


def _last_reading(reading: str, events: Sequence[Event], now: float) -> str:
    name = reading_name(reading)
    rows = [row for row in events if row.kind == "reading" and row.item == reading]
    if not rows or rows[-1].value is None:
        return f"no {name} heard yet"
    last, value = rows[-1], rows[-1].value
    doubt = ", not sure" if "uncertain" in last.flags else ""
    limit = ", off limit" if "off-limit" in last.flags else ""
    return (
        f"{name} {format_value(value, last.unit)}{doubt}{limit}, {spoken_time(now - last.end)} ago"
    )


def _correction(number: int | None, sheet: Sheet, events: Sequence[Event]) -> str:
    """How the log has the item: it is for a person to judge, and the log is not changed by it."""
    item = next((item for item in sheet.items if item.number == number), None)
    if item is None:
        return f"no item {number}"
    found = open_of([item], events)
    held = found[0].reason if found else "confirmed"
    return f"correction noted, item {item.number}, {item.ask[0]}, held as {held}"
