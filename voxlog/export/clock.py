"""The log's times on the clock of an outside recorder: an offset, or two marks and so its drift.

A mark is one event that both clocks show, as LOG=RECORDER. Between two marks, and beyond them, the
recorder's time is taken to run evenly:

    recorder = r1 + (log - l1) * (r2 - r1) / (l2 - l1)

A time is written as

    83.25   1:23.25   0:01:23.25        elapsed: seconds, or [hours:]minutes:seconds from the start
    09:31:23.25Z  09:31:23.25+01:00     what a clock showed, with its zone; the run's own day
    2026-11-25T09:31:23.25Z             the same with its day

Pure.
"""

import re
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

from voxlog.errors import InputError

__all__ = ["PLAUSIBLE_PPM", "READING_MS", "RecorderClock", "parse_clock"]

PLAUSIBLE_PPM = 200
"""Two quartz clocks differ by less: each is good to 20 to 100 parts in a million."""

READING_MS = 500
"""How far two marks set by hand may be out together, whatever lies between them."""

_OFFSET = re.compile(r"[+-]?\d+(\.\d+)?")
_ELAPSED = re.compile(r"(?:(?:(\d+):)?([0-5]?\d):)?(\d+(?:\.\d+)?)")
_OF_DAY = re.compile(r"(\d\d:\d\d:\d\d(?:\.\d{1,6})?)(Z|[+-]\d\d:\d\d)")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_HOW = "write a time as 83.25, 0:01:23.25, 09:31:23Z or 2026-11-25T09:31:23Z"


@dataclass(frozen=True, slots=True)
class RecorderClock:
    """recorder_ms = at_zero_ms + log_ms * rate.

    start: the recorder's moment of its time 0. between_ms: the log's time between the two marks; 0
    for one mark or an offset.
    """

    at_zero_ms: Fraction
    rate: Fraction
    start: datetime | None
    between_ms: Fraction = Fraction(0)

    def recorder_ms(self, log_ms: int) -> int:
        """Milliseconds on the recorder's clock, rounded half up."""
        return (self.at_zero_ms + log_ms * self.rate + Fraction(1, 2)).__floor__()

    @property
    def drift_ppm(self) -> float:
        """By how much the recorder runs fast against the log, in millionths."""
        return float((self.rate - 1) * 1_000_000)

    def describe(self) -> str:
        """The alignment in a line, for whoever gave the marks."""
        drift = f", runs {self.drift_ppm:+.1f} ppm" if self.rate != 1 else ""
        return f"recorder's clock: {float(self.at_zero_ms) / 1000:+.3f} s at the log's 0{drift}"

    @property
    def warning(self) -> str:
        """What is odd about the marks; empty when nothing is."""
        apart_ms = abs((self.rate - 1) * self.between_ms)
        if apart_ms <= READING_MS + abs(self.between_ms) * PLAUSIBLE_PPM / 1_000_000:
            return ""
        pace = "fast" if self.drift_ppm > 0 else "slow"
        return (
            f"--clock: by these marks the recorder runs {abs(self.drift_ppm) / 10_000:.2f} %"
            f" {pace}, more than two clocks differ; is each mark the same event on both?"
        )


def parse_clock(text: str, start: datetime | None, drift_ppb: int = 0) -> RecorderClock:
    """What --clock says: an offset in seconds, or one or two marks LOG=RECORDER with a comma.

    start, drift_ppb: of the log's own clock; needed where a mark is a clock's time. InputError for
    what cannot be read, for marks at the same time, and for a recorder that goes backward.
    """
    try:
        return _parse(text.strip(), _LogClock(start, drift_ppb))
    except (ValueError, OverflowError) as error:
        raise InputError(f"--clock {text}: {error}") from error


@dataclass(frozen=True, slots=True)
class _LogClock:
    start: datetime | None
    drift_ppb: int

    def ms_of(self, moment: datetime) -> Fraction:
        assert self.start is not None
        return _ms(moment - self.start) / (1 + Fraction(self.drift_ppb, 10**9))

    def moment_of(self, ms: Fraction) -> datetime | None:
        if self.start is None:
            return None
        exact = ms * (1 + Fraction(self.drift_ppb, 10**9)) * 1000
        return self.start + timedelta(microseconds=round(exact))


def _parse(text: str, log: _LogClock) -> RecorderClock:
    if _OFFSET.fullmatch(text):
        return _clock(Fraction(text) * 1000, Fraction(1), log, is_moment=False)
    pairs = [tuple(side.strip() for side in mark.split("=")) for mark in text.split(",")]
    if len(pairs) > 2 or any(len(pair) != 2 for pair in pairs):
        raise ValueError("write an offset as +12.5, or one or two marks as 60.0=72.5,3600.0=3612.6")
    marks = [_mark(log_text, recorder_text, log) for log_text, recorder_text in pairs]
    (first, recorder_first, is_moment), (last, recorder_last, is_last_moment) = marks[0], marks[-1]
    if is_moment != is_last_moment:
        raise ValueError("one mark has a clock's time, the other elapsed time; use one kind")
    rate = Fraction(1)
    if len(marks) == 2:
        rate = _rate(last - first, recorder_last - recorder_first)
    clock = _clock(recorder_first - first * rate, rate, log, is_moment=is_moment)
    return replace(clock, between_ms=last - first)


def _rate(log_ms: Fraction, recorder_ms: Fraction) -> Fraction:
    if log_ms == 0:
        raise ValueError("both marks are at the same time of the log; use two that are far apart")
    if recorder_ms == 0:
        raise ValueError("both marks are at the same time of the recorder; use two far apart")
    if (log_ms > 0) != (recorder_ms > 0):
        raise ValueError("the recorder goes backward between the marks; write each as LOG=RECORDER")
    return recorder_ms / log_ms


def _clock(at_zero: Fraction, rate: Fraction, log: _LogClock, *, is_moment: bool) -> RecorderClock:
    """Time 0 is the recorder's own start, or the log's where its clock shows moments only."""
    if is_moment:
        start = _EPOCH + timedelta(milliseconds=at_zero.__floor__())
        return RecorderClock(at_zero - at_zero.__floor__(), rate, start)
    return RecorderClock(at_zero, rate, log.moment_of(-at_zero / rate))


def _mark(log_text: str, recorder_text: str, log: _LogClock) -> tuple[Fraction, Fraction, bool]:
    """Milliseconds on both clocks, and whether the recorder's count from 1970."""
    elapsed = _elapsed_ms(log_text)
    if elapsed is None:
        if log.start is None:
            raise ValueError(f"the log knows no start, so it has no {log_text}; use elapsed time")
        elapsed = log.ms_of(_moment(log_text, log.start))
    recorder = _elapsed_ms(recorder_text)
    if recorder is not None:
        return elapsed, recorder, False
    moment = _moment(recorder_text, log.moment_of(elapsed))
    return elapsed, _ms(moment - _EPOCH), True


def _elapsed_ms(text: str) -> Fraction | None:
    found = _ELAPSED.fullmatch(text)
    if not found:
        return None
    hours, minutes, seconds = found.groups()
    if minutes is not None and Fraction(seconds) >= 60:
        raise ValueError(f"{text} has 60 seconds or more; {_HOW}")
    return ((int(hours or 0) * 60 + int(minutes or 0)) * 60 + Fraction(seconds)) * 1000


def _moment(text: str, near: datetime | None) -> datetime:
    """A clock's time; without a day, on the day that puts it nearest to `near`."""
    of_day = _OF_DAY.fullmatch(text)
    if not of_day:
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            raise ValueError(f"{text!r} is no time; {_HOW}") from None
        if moment.tzinfo is None:
            raise ValueError(f"{text} has no zone; write it with Z or +01:00")
        return moment
    if near is None:
        raise ValueError(f"{text} has no day, and the log knows no start; write it with its day")
    try:
        days = [near.astimezone(UTC).date() + timedelta(days=day) for day in (-1, 0, 1)]
        return min((_on(day, text) for day in days), key=lambda one: abs(one - near))
    except ValueError:
        raise ValueError(f"{text!r} is no time; {_HOW}") from None


def _on(day: date, text: str) -> datetime:
    return datetime.fromisoformat(f"{day.isoformat()}T{text}")


def _ms(span: timedelta) -> Fraction:
    return Fraction(span // timedelta(microseconds=1), 1000)
