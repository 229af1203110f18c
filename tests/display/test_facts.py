import math

import pytest

from tests.display.usual import usual
from voxlog.display.facts import (
    channel_fact,
    clean,
    facts_of,
    format_age,
    format_run_time,
    format_time,
    open_line,
    recording_line,
)
from voxlog.live.state import ChannelState, LevelTime, OpenItem, RunState


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [
        (0.0, "0:00"),
        (59.999, "0:59"),
        (425.0, "7:05"),
        (3599.9, "59:59"),
        (3727.0, "1:02:07"),
        (-3.0, "0:00"),
        (math.inf, "0:00"),
        (math.nan, "0:00"),
    ],
)
def test_times(seconds: float, expected: str) -> None:
    assert format_time(seconds) == expected


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [(0.0, "00:00"), (425.0, "07:05"), (7500.0, "125:00"), (-1.0, "00:00"), (math.nan, "00:00")],
)
def test_run_time_is_that_of_the_log(seconds: float, expected: str) -> None:
    assert format_run_time(seconds) == expected


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [(0.0, "0 s ago"), (59.9, "59 s ago"), (60.0, "1:00 ago"), (-0.5, "0 s ago")],
)
def test_ages(seconds: float, expected: str) -> None:
    assert format_age(seconds) == expected


def test_facts_in_order() -> None:
    assert [tuple(fact) for fact in facts_of(usual())] == [
        ("run time", "42:15", "", "calm"),
        ("since masks-off", "2:05", "", "calm"),
        ("altitude, ft", "25,000", "45 s ago", "calm"),
        ("at level", "12:30", "17:30 left", "calm"),
        ("open", "2", "", "watch"),
    ]


def test_facts_before_anything_was_heard() -> None:
    assert [tuple(fact) for fact in facts_of(RunState())] == [
        ("run time", "00:00", "", "calm"),
        ("no cue yet", "-", "", "calm"),
        ("no altitude yet", "-", "", "calm"),
        ("not at level", "-", "", "calm"),
        ("open", "0", "", "calm"),
    ]


@pytest.mark.parametrize(
    ("seconds", "limit_s", "detail", "matter"),
    [
        (10.0, None, "", "calm"),
        (1739.0, 1800.0, "1:01 left", "calm"),
        (1740.0, 1800.0, "1:00 left", "watch"),
        (1800.0, 1800.0, "0:00 left", "watch"),
        (1801.0, 1800.0, "OVER BY 0:01", "alarm"),
        (10.0, 30.0, "0:20 left", "calm"),  # a short limit is near in its last half
        (15.0, 30.0, "0:15 left", "watch"),
    ],
)
def test_time_at_level(seconds: float, limit_s: float | None, detail: str, matter: str) -> None:
    fact = facts_of(RunState(at_level=LevelTime(seconds, limit_s)))[3]
    assert (fact.detail, fact.matter) == (detail, matter)


@pytest.mark.parametrize(
    ("level", "warning", "figure", "detail", "matter"),
    [
        (-23.4, "", "-23 dB", "ok", "calm"),
        (-0.1, "clipping", "0 dB", "clipping", "alarm"),
        (-math.inf, "silent", "-inf dB", "silent", "alarm"),
        (None, "", "", "no signal", "alarm"),
        (None, "device gone", "", "device gone", "alarm"),
    ],
)
def test_channels(level: float | None, warning: str, figure: str, detail: str, matter: str) -> None:
    fact = channel_fact(ChannelState("monitor", level, warning))
    assert tuple(fact) == ("monitor", figure, detail, matter)


@pytest.mark.parametrize(
    ("recording", "fault", "expected"),
    [
        (True, "", ("RECORDING", "calm")),
        (True, "one device gone", ("RECORDING, one device gone", "watch")),
        (False, "disk full", ("NOT RECORDING: disk full", "alarm")),
        (False, "", ("NOT RECORDING", "alarm")),
    ],
)
def test_recording(recording: bool, fault: str, expected: tuple[str, str]) -> None:
    assert recording_line(RunState(recording=recording, fault=fault)) == expected


@pytest.mark.parametrize(
    ("item", "expected"),
    [
        (OpenItem("12", "visor", "skipped"), "12 visor (skipped)"),
        (OpenItem("12", "visor"), "12 visor"),
        (OpenItem("", "visor"), "visor"),
    ],
)
def test_open_items(item: OpenItem, expected: str) -> None:
    assert open_line(item) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [("a\x1b[2Jb", "a [2Jb"), ("a\nb\tc", "a b c"), ("\x9b31m", "31m"), ("Pøl ü", "Pøl ü")],
)
def test_control_signs_are_taken_out(text: str, expected: str) -> None:
    assert clean(text) == expected
