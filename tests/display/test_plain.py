import io
from dataclasses import replace
from typing import Any

import pytest

from tests.display.usual import usual
from voxlog.display.plain import PlainDisplay, changes_in_words, status_in_words
from voxlog.live.state import ChannelState, DueItem, LevelTime, OpenItem, Row, RunState

NEW = Row(4, 2440.0, "item 12: confirmed", "corrected")


@pytest.mark.parametrize(
    ("changes", "lines"),
    [
        ({}, []),
        ({"run_s": 2536.0, "findings": 4, "behind_s": 1.0}, []),
        ({"gate": "open: item 12, visor"}, ["gate: open: item 12, visor"]),
        ({"due": None}, ["due: nothing"]),
        ({"due": DueItem("15", "visor", "attendant")}, ["due: item 15, visor, attendant"]),
        ({"due": DueItem("", "masks off", "conductor")}, ["due: masks off, conductor"]),
        ({"due": replace(usual().due, asked_s=5.0)}, []),
        ({"open": ()}, ["open: none"]),
        ({"open": (OpenItem("12", "visor", "skipped"),)}, ["open: 12 visor (skipped)"]),
        ({"rows": (*usual().rows[1:], NEW)}, ["row 4: corrected: item 12: confirmed"]),
        ({"behind_s": 8.2}, ["listening: behind by 8 s"]),
        ({"answer": "12 minutes"}, ["answer: 12 minutes"]),
        (
            {"recording": False, "fault": "disk full"},
            ["recording: not recording: disk full"],
        ),
        ({"at_level": LevelTime(1750.0, 1800.0)}, ["time at level: 29:10, 0:50 left"]),
        ({"at_level": LevelTime(1801.0, 1800.0)}, ["time at level: 30:01, OVER BY 0:01"]),
        (
            {"channels": (ChannelState("conductor", -99.0, "silent"), *usual().channels[1:])},
            ["channel conductor: silent"],
        ),
        (
            {"channels": (*usual().channels[:3], ChannelState("monitor", -20.0))},
            ["channel monitor: ok"],
        ),
        (
            {"channels": (*usual().channels[:3], ChannelState("monitor", -90.0, "silent"))},
            ["channel monitor: silent"],
        ),
    ],
)
def test_only_what_changed_is_said(changes: dict[str, Any], lines: list[str]) -> None:
    assert list(changes_in_words(usual(), usual(**changes))) == lines


def test_what_went_well_again_is_said() -> None:
    bad = usual(gate="open: item 12, visor", behind_s=9.0, recording=False)
    assert list(changes_in_words(bad, usual())) == [
        "recording: recording",
        "gate: clear",
        "listening: caught up",
    ]


def test_the_first_state_is_said_whole() -> None:
    assert list(changes_in_words(None, RunState())) == ["recording: recording"]
    assert list(changes_in_words(None, usual(rows=()))) == [
        "recording: recording",
        "channel operator: silent",
        "channel monitor: clipping",
        "open: 12 visor (skipped); 13 hoses connected (negative)",
        "due: item 14, oxygen supply pressure, operator",
    ]


def test_the_status_says_everything() -> None:
    assert status_in_words(usual()) == (
        "status: recording; due item 14, oxygen supply pressure, operator; "
        "open 12 visor (skipped); 13 hoses connected (negative); run time 42:15; "
        "since masks-off 2:05; altitude, ft 25,000 45 s ago; at level 12:30 17:30 left; "
        "conductor -23 dB ok; attendant -31 dB ok; operator -60 dB silent; "
        "monitor 0 dB clipping; findings 3; behind by 0 s"
    )


def test_lines_start_with_the_run_time_and_a_status_comes_each_minute() -> None:
    stream = io.StringIO()
    with PlainDisplay(stream) as display:
        for second in range(0, 200, 5):
            display.show(RunState(run_s=float(second)))
    lines = stream.getvalue().splitlines()
    assert lines[0] == "00:00 recording: recording"
    assert [line[:13] for line in lines[1:]] == ["01:00 status:", "02:00 status:", "03:00 status:"]


def test_a_run_taken_up_late_does_not_make_up_for_statuses() -> None:
    stream = io.StringIO()
    display = PlainDisplay(stream)
    display.show(RunState(run_s=5000.0))
    display.show(RunState(run_s=5001.0))
    assert stream.getvalue().count("status:") == 1


def test_there_are_no_control_codes() -> None:
    stream = io.StringIO()
    PlainDisplay(stream).show(usual(gate="\x1b[2Jopen\r\nx", answer="\x07", run_s=60.0))
    text = stream.getvalue()
    assert all(sign.isprintable() or sign == "\n" for sign in text)
    assert "gate: [2Jopen x" in text


def test_letters_that_the_stream_lacks_are_replaced() -> None:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="ascii")
    PlainDisplay(stream).show(RunState(gate="Prüfung"))
    assert b"gate: Pr?fung" in raw.getvalue()


class Gone(io.StringIO):
    """A pipe whose reader went away."""

    def write(self, text: str) -> int:
        raise BrokenPipeError


def test_a_reader_that_went_away_does_not_end_the_run() -> None:
    PlainDisplay(Gone()).show(usual())
