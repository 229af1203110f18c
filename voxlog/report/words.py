"""Findings in the words of the people who run the chamber, and which of them come first."""

from decimal import Decimal
from typing import NamedTuple

from voxlog.follow.event import Event
from voxlog.log.finding import Finding, findings_of
from voxlog.log.record import format_decimal

__all__ = [
    "Severity",
    "describe_findings",
    "format_clock",
    "format_percent",
    "format_value",
    "severity",
]


class Severity(NamedTuple):
    """Where a finding stands among the others (0 the worst), and how it is shown.

    The mark says in print, and to the colour-blind, what the style says on a screen.
    """

    order: int
    mark: str
    style: str


_SEVERITIES: dict[Finding, Severity] = {
    "negative": Severity(0, "!!", "bold red"),
    "misread": Severity(0, "!!", "bold red"),
    "off-limit": Severity(0, "!!", "bold red"),
    "skipped": Severity(1, "!", "red"),
    "unconfirmed": Severity(2, "!", "yellow"),
    "self-answered": Severity(2, "!", "yellow"),
    "out-of-order": Severity(3, "-", "cyan"),
    "late": Severity(4, "-", "cyan"),
    "uncertain": Severity(6, "?", "magenta"),
}
_OPTIONAL_SKIPPED = Severity(5, "-", "cyan")

# "Not heard" is all that a recording can tell; whether it was done, a person must say.
_WORDS: dict[Finding, str] = {
    "negative": "answered negative",
    "misread": "read back wrong",
    "off-limit": "outside limits",
    "skipped": "skipped, not heard",
    "unconfirmed": "not confirmed",
    "self-answered": "answered by the voice that asked",
    "out-of-order": "out of order",
    "late": "late",
    "uncertain": "unsure, listen again",
}
_WORDS_OF_CALLOUTS: dict[Finding, str] = {
    "skipped": "call not heard",
    "unconfirmed": "no read-back heard",
}


def severity(event: Event, *, is_optional: bool = False) -> Severity | None:
    """That of the row's worst finding; None for a row without any.

    is_optional: the sheet does not ask for this item, so leaving it out is worth less.
    """
    every = [
        _OPTIONAL_SKIPPED if finding == "skipped" and is_optional else _SEVERITIES[finding]
        for finding in findings_of(event)
    ]
    return min(every, default=None)


def describe_findings(event: Event, *, is_optional: bool = False) -> str:
    """All findings of a row, worst first: "no read-back heard; late"."""
    found = findings_of(event)
    if "misread" in found:
        # A read-back was heard: it is unconfirmed only because it was wrong.
        found = tuple(finding for finding in found if finding != "unconfirmed")
    return "; ".join(_describe(event, finding, is_optional=is_optional) for finding in found)


def _describe(event: Event, finding: Finding, *, is_optional: bool) -> str:
    words = _WORDS[finding]
    if event.kind == "callout":
        words = _WORDS_OF_CALLOUTS.get(finding, words)
    if finding == "skipped" and is_optional:
        return "optional, not heard"
    if finding == "off-limit" and event.value is not None:
        return f"{words}: {format_value(event.value, event.unit)}"
    return words


def format_value(value: float, unit: str) -> str:
    """A spoken number as people write it: 10,000 ft, 72.5 %."""
    return f"{Decimal(format_decimal(value)):,f} {unit}".rstrip()


def format_clock(seconds: float) -> str:
    """Minutes and seconds from the start of the recording, cut to the second: 07:05, 125:00."""
    return f"{int(seconds) // 60:02}:{int(seconds) % 60:02}"


def format_percent(p: float) -> str:
    """Whole percent, but never 0 or 100 for what is not certain."""
    percent = round(p * 100)
    if percent == 100 and p < 1:
        return ">99 %"
    if percent == 0 and p > 0:
        return "<1 %"
    return f"{percent} %"
