"""One decision: what one reviewer says of one row of the log, or of one that is missing in it.

Pure. A decision is checked when it is made, so that what cannot be recorded never exists:

    Decision("C-12", datetime.now(UTC), "cleared", row=7, event=None, reason="it was a cough")

InputError's text is meant for the reviewer.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Literal, get_args

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.record import decode_event, encode_event, rounded

__all__ = [
    "REASON_LENGTH",
    "VERDICTS",
    "Decision",
    "Verdict",
    "check_code",
    "decode_decision",
    "encode_decision",
    "format_moment",
    "parse_moment",
]

Verdict = Literal["stands", "cleared", "corrected", "deferred", "added"]

VERDICTS: tuple[Verdict, ...] = get_args(Verdict)

REASON_LENGTH = 2000
"""Characters in a reason; more is a document, which belongs beside the run folder."""

# A code, never a name: a few capitals and a number.
_CODE = re.compile(r"[A-Z]{1,8}-?[0-9]{1,6}")
_NEEDS_REASON = ("cleared", "corrected", "added")
_NEEDS_EVENT = ("corrected", "added")


@dataclass(frozen=True, slots=True)
class Decision:
    """A reviewer's word on a row. InputError for one that cannot be recorded.

    reviewer: a code such as "C-12".
    at: when it was decided; with its zone, kept in UTC.
    verdict: stands (the row is right), cleared (misheard: all was as it should be; for an added
        row: it did not happen), corrected (to `event`), deferred (not decided yet), added (`event`
        was missed by the log).
    row: the row's n in events.csv, from 1; numbers after the log's last row are those of added
        events, in the order they were added. None for "added".
    event: for corrected and added the row as it should be, on the log's grid of samples and
        thousandths (`rounded`); else None.
    reason: free text; needed for cleared, corrected and added.
    """

    reviewer: str
    at: datetime
    verdict: Verdict
    row: int | None
    event: Event | None
    reason: str

    def __post_init__(self) -> None:
        check_code(self.reviewer)
        if self.verdict not in VERDICTS:
            raise InputError(f"verdict {self.verdict!r}: unknown; use one of {', '.join(VERDICTS)}")
        _check_row(self)
        _check_reason(self)
        if self.at.utcoffset() is None:
            raise InputError("time of the decision: without its zone; give it in UTC")
        object.__setattr__(self, "at", self.at.astimezone(UTC))
        if (self.event is not None) != (self.verdict in _NEEDS_EVENT):
            needed = "needs the row as it should be" if self.event is None else "takes no row"
            raise InputError(f"{self.verdict}: {needed}; correct the decision")
        if self.event is not None:
            object.__setattr__(self, "event", _on_grid(self.event))


def check_code(code: str) -> None:
    """InputError for what is not a person's code: names have no place in a run folder."""
    if not _CODE.fullmatch(code):
        raise InputError(f"{code!r}: not a code; use capitals and a number, as in C-12")


def encode_decision(decision: Decision) -> dict[str, Any]:
    """The fields of a decision's line in review.jsonl; the event as the log writes it."""
    return {
        "reviewer": decision.reviewer,
        "at": format_moment(decision.at),
        "verdict": decision.verdict,
        "row": decision.row,
        "event": None if decision.event is None else encode_event(decision.event),
        "reason": decision.reason,
    }


def decode_decision(fields: Mapping[str, Any]) -> Decision:
    """The decision of one line; ValueError for fields that encode_decision does not write."""
    try:
        event = fields["event"]
        decision = Decision(
            reviewer=fields["reviewer"],
            at=parse_moment(fields["at"]),
            verdict=fields["verdict"],
            row=fields["row"],
            event=None if event is None else decode_event(event),
            reason=fields["reason"],
        )
    except (InputError, KeyError, TypeError, AttributeError) as error:
        raise ValueError(f"not a decision: {error}") from error
    if encode_decision(decision) != fields:
        raise ValueError("the decision contradicts itself")
    return decision


def format_moment(moment: datetime) -> str:
    """RFC 3339 in UTC to the microsecond: 2026-11-25T09:30:00.500000Z"""
    utc = moment.astimezone(UTC).replace(tzinfo=None)
    return utc.isoformat(timespec="microseconds") + "Z"


def parse_moment(text: str) -> datetime:
    """ValueError for a text that format_moment does not write, to the character."""
    moment = datetime.fromisoformat(text)
    if moment.utcoffset() != timedelta(0) or format_moment(moment) != text:
        raise ValueError(f"not a moment in UTC: {text}")
    return moment


def _check_row(decision: Decision) -> None:
    row = decision.row
    if decision.verdict == "added":
        if row is not None:
            raise InputError("added: the log numbers an added row itself; give none")
    elif type(row) is not int or row < 1:
        raise InputError(f"row {row}: not a row of the log; rows are counted from 1")


def _check_reason(decision: Decision) -> None:
    reason = decision.reason
    if decision.verdict in _NEEDS_REASON and not reason.strip():
        raise InputError(f"{decision.verdict}: no reason; say why")
    if len(reason) > REASON_LENGTH:
        raise InputError(
            f"reason: {len(reason)} characters; say it in at most {REASON_LENGTH} characters"
        )
    if any("\ud800" <= character <= "\udfff" for character in reason):
        raise InputError("reason: not text (half of a character is missing); type it again")


def _on_grid(event: Event) -> Event:
    try:
        encode_event(event)
    except ValueError as error:
        raise InputError(f"the row as it should be: {error}; correct it") from error
    return rounded(event)
