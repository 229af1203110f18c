"""The summary as a person sees it, 80 columns wide."""

import io

import pytest
from rich.console import Console

from voxlog.follow.event import Event
from voxlog.report.summary import CAUTION, SheetNames, print_summary, sort_findings

SHEET = SheetNames(
    title="Hypoxia recognition, 25,000 ft",
    phases={"ground": "Ground checks", "climb": "Climb to the intermediate level", "end": "End"},
    names={
        "1": "intercom check",
        "2": "oxygen supply pressure",
        "3": "mask hoses [left and right]",
        "9": "spare mask",
        "climb": "climb",
        "saturation": "saturation",
    },
    optional=frozenset({"9"}),
)
EVENTS = [
    Event(10, 12, "item", "ground", "1", status="unconfirmed", heard="roger", p=0.999),
    Event(15, 17, "item", "ground", "1", status="confirmed", flags=("repeated",), p=0.9),
    Event(
        *(21, 23, "item", "ground", "2"),
        status="confirmed",
        flags=("off-limit",),
        heard="one five hundred",
        value=1500,
        unit="psi",
        p=0.97,
    ),
    Event(33, 33, "item", "ground", "3", status="skipped", p=0.91),
    Event(33, 33, "item", "ground", "9", status="skipped", p=0.95),
    Event(
        *(60, 62, "callout", "climb", "climb"),
        status="unconfirmed",
        flags=("misread",),
        heard="passing one zero thousand",
        value=10_000,
        unit="ft",
        p=0.88,
    ),
    Event(3700, 3702, "hold", "climb", flags=("uncertain",), heard="hold hold [hold]", p=0.55),
    Event(3800, 3801, "note", heard="nice weather"),
]

WHOLE = """\
Hypoxia recognition, 25,000 ft
Warning: run.flac: clipped for 3 s [channel 2]

 Phase               Items  Confirmed  Unconfirmed  Skipped  Negative  Findings
 ──────────────────────────────────────────────────────────────────────────────
 Ground checks           4          2            0        2         0         4
 Climb to the            0          0            0        0         0         2
 intermediate level
 End                     0          0            0        0         0         0

 All                     4          2            0        2         0         6


      Time  Item                 Finding              Heard                   p
 ──────────────────────────────────────────────────────────────────────────────
 !!  00:21  2 oxygen supply      outside limits:      "one five hundred"   97 %
            pressure             1,500 psi
 !!  01:00  climb 10,000 ft      read back wrong      "passing one zero    88 %
                                                      thousand"
 !   00:33  3 mask hoses [left   skipped, not heard   nothing              91 %
            and right]
 !   00:10  1 intercom check     not confirmed        "roger"             >99 %
 -   00:33  9 spare mask         optional, not heard  nothing              95 %
 ?   61:40  hold                 unsure, listen       "hold hold [hold]"   55 %
                                 again

A record aid, not a medical device and not an alarm: the crew's own procedures,
local codes and licensed practice come first.
"""


def printed(events: list[Event], *warnings: str, width: int = 80, **console: object) -> str:
    buffer = io.StringIO()
    print_summary(Console(file=buffer, width=width, **console), SHEET, events, warnings)
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines()) + "\n"


def test_the_whole_summary() -> None:
    assert printed(EVENTS, "run.flac: clipped for 3 s [channel 2]") == WHOLE


@pytest.mark.parametrize("width", [80, 100, 200])
def test_no_line_is_wider_than_the_terminal_and_no_word_is_lost(width: int) -> None:
    text = printed(EVENTS, width=width)
    assert max(map(len, text.splitlines())) <= width
    words = " ".join(text.split())
    for word in ("Unconfirmed", "Findings", ">99 %", "01:00", "1,500", "[hold]"):
        assert word in words
    assert "…" not in text


def test_nothing_is_said_by_colour_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """no-color.org: with NO_COLOR set, no escape sequence sets a colour; the words are the same."""
    monkeypatch.setenv("NO_COLOR", "1")
    plain = printed(EVENTS, force_terminal=True)
    monkeypatch.delenv("NO_COLOR")
    coloured = printed(EVENTS, force_terminal=True, color_system="standard")
    red, yellow = "\x1b[31m", "\x1b[33m"
    assert red in coloured
    assert yellow in coloured
    assert red not in plain
    assert yellow not in plain
    for mark in ("!!", "! ", "- ", "? "):
        assert mark in plain


def test_a_run_without_findings_claims_no_more_than_was_heard() -> None:
    text = printed([EVENTS[1]])
    assert "No findings in what was heard." in text
    assert CAUTION in " ".join(text.split())


def test_an_empty_run() -> None:
    assert "No findings in what was heard." in printed([])


def test_findings_outside_the_phases_of_the_sheet_are_counted() -> None:
    text = printed([Event(5, 6, "reading", item="saturation", flags=("off-limit",), value=64.0)])
    assert "(any phase)" in text
    assert "saturation 64" in text


def late(start: float, p: float) -> Event:
    return Event(start, start + 1, "item", item="1", status="confirmed", flags=("late",), p=p)


def test_among_equals_the_more_probable_and_then_the_earlier_comes_first() -> None:
    rows = [late(1, 0.5), late(2, 0.9), late(3, 0.9), late(4, 0.7)]
    assert [row.start for row in sort_findings(rows)] == [2, 3, 4, 1]
