"""Findings in words, and their order."""

import pytest

from voxlog.follow.event import Event, Flag, Kind, Status
from voxlog.log.finding import FINDINGS, findings_of
from voxlog.report.words import (
    describe_findings,
    format_clock,
    format_percent,
    format_value,
    severity,
)


def row(kind: Kind, status: Status | None, *flags: Flag, value: float | None = None) -> Event:
    return Event(5.0, 6.0, kind, item="7", status=status, flags=flags, value=value, unit="psi")


@pytest.mark.parametrize(
    ("event", "findings"),
    [
        (row("item", "confirmed"), ()),
        (row("item", "confirmed", "repeated"), ()),
        (row("item", None), ()),
        (row("item", "negative"), ("negative",)),
        # Worst first, whatever the order of the flags.
        (
            row("item", "unconfirmed", "late", "out-of-order"),
            ("unconfirmed", "out-of-order", "late"),
        ),
        (row("callout", "unconfirmed", "misread"), ("misread", "unconfirmed")),
        (row("reading", None, "off-limit", "uncertain"), ("off-limit", "uncertain")),
        # Talk that nobody expected is nothing to look at.
        (row("note", None, "uncertain"), ()),
    ],
)
def test_findings_of(event: Event, findings: tuple[str, ...]) -> None:
    assert findings_of(event) == findings


@pytest.mark.parametrize(
    ("event", "words"),
    [
        (row("item", "confirmed"), ""),
        (row("item", "skipped"), "skipped, not heard"),
        (row("callout", "skipped"), "call not heard"),
        (row("cue", "skipped"), "skipped, not heard"),
        (row("item", "unconfirmed"), "not confirmed"),
        (row("callout", "unconfirmed"), "no read-back heard"),
        # A wrong read-back was heard: it must not also say that none was.
        (row("callout", "unconfirmed", "misread", "late"), "read back wrong; late"),
        (row("item", "negative", "uncertain"), "answered negative; unsure, listen again"),
        (row("item", "confirmed", "off-limit", value=1500), "outside limits: 1,500 psi"),
        (row("item", "confirmed", "off-limit"), "outside limits"),
    ],
)
def test_words(event: Event, words: str) -> None:
    assert describe_findings(event) == words


def test_every_finding_has_words_and_a_place() -> None:
    for finding in FINDINGS:
        status = finding if finding in ("skipped", "unconfirmed", "negative") else None
        event = row("item", status, *(() if status else (finding,)))
        assert findings_of(event) == (finding,)
        assert describe_findings(event)
        assert severity(event) is not None


def test_severities_from_worst_to_least() -> None:
    """As the summary's text says."""
    classes = [
        [row("item", "negative"), row("item", "confirmed", "off-limit")],
        [row("item", "skipped")],
        [row("item", "unconfirmed", "late")],
        [row("item", "confirmed", "out-of-order")],
        [row("item", "confirmed", "late", "uncertain")],
        [row("item", "confirmed", "uncertain")],
    ]
    orders = [{severity(event).order for event in events} for events in classes]
    assert all(len(order) == 1 for order in orders)
    flat = [order.pop() for order in orders]
    assert flat == sorted(set(flat))
    optional = severity(row("item", "skipped"), is_optional=True)
    assert flat[-2] < optional.order < flat[-1]
    assert severity(row("item", "confirmed")) is None


def test_an_optional_item_is_called_so() -> None:
    assert describe_findings(row("item", "skipped"), is_optional=True) == "optional, not heard"
    assert severity(row("item", "negative"), is_optional=True).order == 0


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "00:00"), (59.999, "00:59"), (61.5, "01:01"), (3600, "60:00"), (7500, "125:00")],
)
def test_clock(seconds: float, text: str) -> None:
    assert format_clock(seconds) == text


@pytest.mark.parametrize(
    ("p", "text"),
    [
        (1.0, "100 %"),
        (0.999, ">99 %"),
        (0.994, "99 %"),
        (0.5, "50 %"),
        (0.004, "<1 %"),
        (0.0, "0 %"),
    ],
)
def test_percent(p: float, text: str) -> None:
    assert format_percent(p) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (25_000, "ft", "25,000 ft"),
        (72.5, "%", "72.5 %"),
        (0.5, "", "0.5"),
        (-0.25, "bar", "-0.25 bar"),
        (-1500, "m", "-1,500 m"),
    ],
)
def test_value(value: float, unit: str, text: str) -> None:
    assert format_value(value, unit) == text
