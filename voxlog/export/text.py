"""A row as one line of text, for formats that carry a time and a text. Pure."""

import re

from voxlog.export.run import Row
from voxlog.log.record import format_decimal

__all__ = ["format_seconds", "label", "one_line"]

_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")
_NO_CHARACTER = re.compile(r"[\ufffe\uffff]")


def one_line(text: str) -> str:
    """White space and control characters as one space, and U+FFFE and U+FFFF as U+FFFD.

    XML forbids those two, and no text should hold them. Direction marks and other format characters
    stay. Halves of surrogate pairs cannot be here: the log refuses them.
    """
    return " ".join(_NO_CHARACTER.sub("\ufffd", _CONTROL.sub(" ", text)).split())


def label(row: Row) -> str:
    """A row in one line, findable in the log by its number; an open review is not mentioned.

    >>> label(Row(12, 0, 900, Event(0, 0.9, "item", item="14", position="attendant",
    ...     status="unconfirmed", flags=("late",), heard="roger"), "disputed"))
    '#12 item 14: unconfirmed, late - attendant "roger" [disputed]'
    """
    event = row.event
    value = "" if event.value is None else f"{format_decimal(event.value)} {event.unit}".strip()
    head = " ".join(filter(None, (f"#{row.n}", event.kind, event.item, value)))
    verdict = ", ".join(filter(None, (event.status, *event.flags)))
    heard = f'"{event.heard}"' if event.heard else ""
    said = " ".join(filter(None, (event.position, heard)))
    text = head + (f": {verdict}" if verdict else "") + (f" - {said}" if said else "")
    is_decided = row.review not in ("", "open")
    return one_line(text + (f" [{row.review}]" if is_decided else ""))


def format_seconds(ms: int) -> str:
    """Seconds with three decimals: 61.250, -0.005."""
    sign = "-" if ms < 0 else ""
    return f"{sign}{abs(ms) // 1000}.{abs(ms) % 1000:03}"
