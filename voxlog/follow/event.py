"""The event: one row of the log."""

from dataclasses import dataclass
from typing import Literal, get_args

__all__ = ["FLAGS", "KINDS", "STATUSES", "Event", "Flag", "Kind", "Status"]

Kind = Literal["item", "callout", "reading", "cue", "hold", "resume", "note"]
Status = Literal["confirmed", "unconfirmed", "skipped", "negative"]
Flag = Literal[
    "out-of-order", "off-limit", "misread", "self-answered", "late", "repeated", "uncertain"
]

KINDS: tuple[Kind, ...] = get_args(Kind)
STATUSES: tuple[Status, ...] = get_args(Status)
FLAGS: tuple[Flag, ...] = get_args(Flag)


@dataclass(frozen=True, slots=True)
class Event:
    """What happened once, as far as the recording tells.

    start, end: seconds from the start of the recording, of the words behind the row.
    item: the item's number as text, or the id of the callout, reading or cue; "" for notes.
    position: who is taken to have spoken (the answering position for an item); "" if unknown.
    status: None where the row is not something to be confirmed.
    flags: a subset of FLAGS, in that order.
    heard: the words, as recognised; "" when nothing was.
    value, unit: the number spoken, if the row carries one.
    p: the probability that the row (its status, flags and value) is right, 0 to 1.
    """

    start: float
    end: float
    kind: Kind
    phase: str = ""
    item: str = ""
    position: str = ""
    status: Status | None = None
    flags: tuple[Flag, ...] = ()
    heard: str = ""
    value: float | None = None
    unit: str = ""
    p: float = 1.0
    note: str = ""
