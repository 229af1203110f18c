"""Holds of a run: from when to when, and what was said about them."""

from dataclasses import dataclass

from voxlog.debrief.run import Run, Said
from voxlog.follow.event import Event

__all__ = ["Hold", "holds_of"]

REASON_S = 60.0
"""Seconds after the call in which what is said counts as its reason."""
MOST_SAID = 6


@dataclass(frozen=True, slots=True)
class Hold:
    """A stretch in which the work was stopped.

    start: seconds. end: None where no resume was heard. resumed_at: number of
    the item at which the work was taken up, "" if not heard. reason: what was said with and after
    the call, as recognised freely.
    """

    start: float
    end: float | None
    position: str
    called: str
    resumed_at: str
    reason: tuple[str, ...]


def holds_of(run: Run) -> list[Hold]:
    """The holds in order, those added in a review too.

    A hold called again before the work was resumed is still the same one.
    """
    holds: list[Hold] = []
    over = 0.0
    rows = run.rows_now()
    for place, event in enumerate(rows):
        if event.kind != "hold" or (holds and event.start < over):
            continue
        resume = next((row for row in rows[place:] if row.kind == "resume"), None)
        over = resume.start if resume else run.seconds
        holds.append(_hold(run, event, resume))
    return holds


def _hold(run: Run, event: Event, resume: Event | None) -> Hold:
    until = min(resume.start if resume else run.seconds, event.start + REASON_S)
    notes = [
        row.heard
        for row in run.events
        if row.kind == "note" and event.start <= row.start < until and not row.note
    ]
    call = next((one for one in run.said if abs(one.start - event.start) < 0.01), None)
    return Hold(
        start=event.start,
        end=resume.start if resume else None,
        position=event.position or _position(run, call),
        called=event.heard,
        resumed_at="" if resume is None or resume.value is None else f"{resume.value:g}",
        reason=(*_more_than(event, call), *notes)[:MOST_SAID],
    )


def _position(run: Run, call: Said | None) -> str:
    number = call.channel if call else 0
    return next((one.position for one in run.channels if one.number == number), "")


def _more_than(event: Event, call: Said | None) -> tuple[str, ...]:
    """The call's own free text where it says more than the call: a reason in the same breath."""
    if call is None or len(call.text.split()) <= len(event.heard.split()) + 1:
        return ()
    return (call.text,)
