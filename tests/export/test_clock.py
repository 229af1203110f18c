"""Marks and offsets: the recorder's time of the log's, worked out by hand."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.errors import InputError
from voxlog.export.clock import parse_clock

START = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "log_ms", "recorder_ms"),
    [
        # Offsets.
        ("12.5", 1000, 13_500),
        ("+12.5", 0, 12_500),
        ("-0.0005", 1000, 1000),  # half up
        ("-3", 1000, -2000),
        # One mark is an offset.
        ("60=72.5", 0, 12_500),
        ("1:00=0:01:12.5", 1000, 13_500),
        # Two marks: 3540 s of the log are 3540.1 s of the recorder.
        ("60=72.5,3600=3612.6", 60_000, 72_500),
        ("60=72.5,3600=3612.6", 3_600_000, 3_612_600),
        ("60=72.5,3600=3612.6", 1_830_000, 1_842_550),
        ("60=72.5,3600=3612.6", 7_140_000, 7_152_700),
        ("3600=3612.6,60=72.5", 1_830_000, 1_842_550),
        # The log's clock: 09:31:00Z is 60 s after the start, in any zone, with or without a day.
        ("09:31:00Z=72.5", 60_000, 72_500),
        ("10:31:00+01:00=72.5", 60_000, 72_500),
        ("2026-11-25T09:31:00Z=72.5", 60_000, 72_500),
        # The recorder's clock: time 0 stays the log's; 3540.354 s for 3540 s are 1.0001.
        ("60=09:31:10.25Z", 60_000, 60_000),
        ("60=09:31:10Z,3600=10:30:10.354Z", 3_600_000, 3_600_360),
    ],
)
def test_times_on_the_recorder(text: str, log_ms: int, recorder_ms: int) -> None:
    assert parse_clock(text, START).recorder_ms(log_ms) == recorder_ms


@pytest.mark.parametrize(
    ("text", "start"),
    [
        # The recorder began 12.5 s before the log.
        ("12.5", START - timedelta(seconds=12.5)),
        ("60=72.5", START - timedelta(seconds=12.5)),
        # Its clock is 10.25 s ahead, and time 0 is the log's.
        ("60=09:31:10.25Z", START + timedelta(seconds=10.25)),
    ],
)
def test_the_moment_of_the_recorders_time_0(text: str, start: datetime) -> None:
    assert parse_clock(text, START).start == start


def test_around_midnight_the_nearest_day_is_meant() -> None:
    clock = parse_clock("60=00:00:40Z", datetime(2026, 11, 25, 23, 59, 30, tzinfo=UTC))
    assert clock.start == datetime(2026, 11, 25, 23, 59, 40, tzinfo=UTC)


def test_without_a_start_elapsed_times_do() -> None:
    clock = parse_clock("60=72.5", None)
    assert (clock.recorder_ms(0), clock.start) == (12_500, None)
    assert parse_clock("0=2026-11-25T09:30:00Z", None).start == START


def test_the_logs_own_drift_counts_for_its_clock_times() -> None:
    """50 ppm slow: an hour of true time is 3,599,820 ms of the log."""
    clock = parse_clock("10:30:00Z=3600", START, drift_ppb=50_000)
    assert clock.recorder_ms(3_599_820) == 3_600_000


@pytest.mark.parametrize(
    ("text", "warns"),
    [
        ("12.5", ""),
        ("60=72.5,3600=3612.6", ""),
        # Half a second of reading error, whatever lies between: no warning.
        ("10=20,30=40.5", ""),
        ("10=20,30=40.6", "3.00 % fast"),
        # Over an hour half a second and 0.2 ms a second: 1.22 s.
        ("0=0,3600=3601.2", ""),
        ("0=0,3600=3601.3", "0.04 % fast"),
        ("0=0,3600=3598.7", "0.04 % slow"),
    ],
)
def test_more_drift_than_clocks_have_is_told(text: str, warns: str) -> None:
    warning = parse_clock(text, None).warning
    assert warns in warning and bool(warns) == bool(warning)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "write an offset"),
        ("later", "write an offset"),
        ("1e3", "write an offset"),
        ("nan", "write an offset"),
        ("1=2,3=4,5=6", "one or two marks"),
        ("1=2=3", "one or two marks"),
        ("60=72.5,60=80", "same time of the log"),
        ("60=72.5,61=72.5", "same time of the recorder"),
        ("60=72.5,50=80", "goes backward"),
        ("1:75=80", "60 seconds or more"),
        ("60=-5", "no time"),
        ("60=noon", "no time"),
        ("60=2026-11-25T09:30:00", "no zone"),
        ("60=25:00:00Z", "no time"),
        ("60=09:31:00Z,3600=3612", "use one kind"),
    ],
)
def test_nonsense_is_refused_in_one_line(text: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_clock(text, START)
    assert str(caught.value).startswith(f"--clock {text}: ")
    assert says in str(caught.value)


@pytest.mark.parametrize("text", ["09:31:00Z=5", "60=09:31:00Z"])
def test_a_clock_time_without_a_start_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="the log knows no start"):
        parse_clock(text, None)


@given(st.integers(0, 10**8), st.integers(1, 10**8), st.integers(0, 10**9), st.integers(1, 10**9))
def test_both_marks_are_met_to_the_millisecond(l1: int, dl: int, r1: int, dr: int) -> None:
    marks = [(l1, r1), (l1 + dl, r1 + dr)]
    text = ",".join(f"{a / 1000:.3f}={b / 1000:.3f}" for a, b in marks)
    clock = parse_clock(text, None)
    assert [clock.recorder_ms(a) for a, _ in marks] == [b for _, b in marks]
