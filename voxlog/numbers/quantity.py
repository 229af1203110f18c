"""What a number run means as an altitude, a duration or a time of day.

Each function returns every value the run may stand for, the likeliest first: none when it cannot
be that quantity, two when the words alone do not decide ("two fifty" in an altitude call is 250 ft
or flight level 250).
"""

import re
from collections.abc import Sequence
from typing import Literal

from voxlog.numbers.run import Run, read_run

__all__ = [
    "Quantity",
    "altitude",
    "angels",
    "clock",
    "clock_of_colon",
    "duration",
    "duration_of_colon",
    "flight_level",
]

Quantity = Literal["altitude", "duration", "clock", "number"]
Values = tuple[float, ...]

_WRITTEN_APART = re.compile(r"[dzwqn]{1,3}")  # flight level 2 50, 25 0


def altitude(run: Run, *, said_feet: bool = False) -> Values:
    """Feet, from a run without "flight level" or "angels" before it."""
    is_whole = run.value.is_integer()
    if said_feet or run.scale > 1 or run.value == 0 or (run.value >= 1000 and is_whole):
        return (run.value,)
    if not is_whole:
        return ()
    # Short speech: "two five" is 25,000 ft to one crew and 25 ft to the next, "two five zero"
    # flight level 250 or 250 ft.
    return (run.value, run.value * (100 if run.value >= 100 else 1000))


def flight_level(kinds: str, figures: Sequence[str]) -> Values:
    """Feet, from the run after "flight level": three figures, or a number of three figures."""
    digits = "".join(figures)
    if _WRITTEN_APART.fullmatch(kinds) and len(digits) == 3:
        return (100.0 * int(digits),)
    run = read_run(kinds, figures)
    if run is None or not run.value.is_integer():
        return ()
    has_three_figures = len(run.digits) == 3 if run.digits else 100 <= run.value < 1000
    return (100 * run.value,) if has_three_figures else ()


def angels(run: Run) -> Values:
    """Feet, from the run after "angels", which counts thousands."""
    feet = 1000 * run.value
    return (feet,) if run.value < 100 and run.scale == 1 and feet.is_integer() else ()


def duration(run: Run) -> Values:
    """Seconds, from a run without a unit: "one thirty" is a minute and a half, "thirty" seconds."""
    if run.shape == "pair" and run.parts is not None:
        return _minutes_and_seconds(*run.parts)
    if run.shape == "decimal":
        return ()
    if len(run.digits) == 3 and run.shape in ("digits", "numeral"):
        split = _minutes_and_seconds(int(run.digits[0]), int(run.digits[1:]))
        # "one oh five" is minutes and seconds; "one zero five", and a recogniser's 105, may be
        # a hundred and five seconds as well.
        return split if run.said_oh else (*split, run.value)
    if len(run.digits) == 4 and run.scale == 1:
        split = _minutes_and_seconds(int(run.digits[:2]), int(run.digits[2:]))
        return (*split, run.value)
    if 0 < run.value < 10 and len(run.digits) < 2:
        return (run.value, 60 * run.value)  # "two" may be minutes
    return (run.value,)


def _minutes_and_seconds(minutes: int, seconds: int) -> Values:
    return (60.0 * minutes + seconds,) if seconds < 60 else ()


def duration_of_colon(text: str) -> Values:
    """Seconds of "1:30" (minutes and seconds) or "1:02:03" (hours too)."""
    figures = [int(part) for part in text.split(":")]
    if any(figure > 59 for figure in figures[1:]):
        return ()
    hours, minutes, seconds = ([0] * (3 - len(figures)) + figures)[:3]
    return (3600.0 * hours + 60 * minutes + seconds,)


def clock(run: Run) -> Values:
    """Seconds since midnight, from four figures (six with seconds) or "nine forty five"."""
    if run.parts is not None:
        return _time_of_day(*run.parts)
    # "Nine oh five", and a recogniser's "nine forty five": 945. Three digits else are no time.
    if len(run.digits) == 3 and (run.shape == "numeral" or run.said_oh):
        return _time_of_day(int(run.digits[0]), int(run.digits[1:]))
    if len(run.digits) in (4, 6):
        return _time_of_day(*(int(run.digits[at : at + 2]) for at in range(0, len(run.digits), 2)))
    if run.scale == 100 and run.value % 100 == 0:  # fifteen hundred
        return _time_of_day(int(run.value) // 100, 0)
    return ()


def clock_of_colon(text: str) -> Values:
    """Seconds since midnight of "9:45" or "09:45:30"."""
    return _time_of_day(*(int(part) for part in text.split(":")))


def _time_of_day(hours: int, minutes: int, seconds: int = 0) -> Values:
    if hours > 23 or minutes > 59 or seconds > 59:
        return ()
    return (3600.0 * hours + 60 * minutes + seconds,)
