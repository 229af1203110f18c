"""Which rows of the log a person must look at, and why."""

from typing import Literal, get_args

from voxlog.follow.event import Event

__all__ = ["FINDINGS", "Finding", "findings_of"]

Finding = Literal[
    "negative",
    "misread",
    "off-limit",
    "skipped",
    "unconfirmed",
    "self-answered",
    "out-of-order",
    "late",
    "uncertain",
]

# Worst first: what was said to be wrong, what was not heard to be done, what was done otherwise
# than written, and last what voxlog itself is not sure of.
FINDINGS: tuple[Finding, ...] = get_args(Finding)


def findings_of(event: Event) -> tuple[Finding, ...]:
    """A row's findings, worst first: its status and flags less confirmed and repeated.

    Notes have none, whatever their flags: nobody expected those words.
    """
    if event.kind == "note":
        return ()
    return tuple(word for word in FINDINGS if word == event.status or word in event.flags)
