"""How crews say a value: every usual wording, the most usual first.

The wordings are what the recogniser scores against the audio, so each one is a phrase to try, and
each parses back to the same value (parse.parse_value with the same quantity). Sources: ICAO Annex
10 Volume II 5.2.1.4.1 and FAA AIM 4-2-8, 4-2-9, 4-2-12 for digit by digit speech, thousands and
flight levels; everyday English for the rest.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import Final

from voxlog.numbers.quantity import Quantity
from voxlog.numbers.vocabulary import DIGITS, TEENS, TENS

__all__ = ["spoken_forms"]

Forms = Iterator[str]

_LARGEST: Final = 999_999
_HIGHEST_FEET: Final = 99_999
_LOWEST_FLIGHT_LEVEL_FEET: Final = 3_000  # the lowest transition altitudes in use
_LONGEST_SECONDS: Final = 86_400
_LONGEST_IN_SECONDS: Final = 120  # "ninety seconds", but hardly "a hundred and fifty seconds"
_PLACES: Final = 6


def spoken_forms(value: float, quantity: Quantity, *, niner: bool = False) -> tuple[str, ...]:
    """The usual ways to say `value`, the most usual first, each once.

    value: feet (whole, 0 to 99,999) for an altitude; seconds for a duration (0 to a day) and a
    clock time (whole, since midnight); a number within a million of zero, with up to six decimal
    places, else.
    niner: say "niner" for "nine", as radiotelephony does.
    Raises ValueError for a value that is none of these.

    >>> spoken_forms(25000, "altitude")[:3]
    ('two five thousand', 'twenty five thousand', 'flight level two five zero')
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be said")
    forms = dict.fromkeys(_SAYERS[quantity](value))
    if niner:
        forms = dict.fromkeys(_with_niner(form) for form in forms)
    return tuple(forms)


def _with_niner(form: str) -> str:
    return " ".join("niner" if word == "nine" else word for word in form.split())


def _whole(value: float, largest: int, what: str) -> int:
    if not (0 <= value <= largest and float(value).is_integer()):
        raise ValueError(f"{value:g} is no {what}: whole, from 0 to {largest}")
    return int(value)


# --- numbers -----------------------------------------------------------------------------------


def _numbers(value: float) -> Forms:
    if abs(value) > _LARGEST:
        raise ValueError(f"{value:g} is too large to say: up to {_LARGEST} either way")
    figures = f"{Decimal(repr(float(abs(value)))):f}"
    whole, _, fraction = figures.partition(".")
    if len(fraction) > _PLACES:
        raise ValueError(f"{value!r} has more than {_PLACES} decimal places")
    if fraction.strip("0"):
        forms = _decimals(int(whole), fraction)
    else:
        forms = _integers(int(whole))
    yield from (f"minus {form}" if value < 0 else form for form in forms)


def _decimals(whole: int, fraction: str) -> Forms:
    for form in _integers(whole):
        yield f"{form} decimal {_digit_by_digit(fraction)}"
        yield f"{form} point {_digit_by_digit(fraction)}"
    if whole == 0:
        yield f"point {_digit_by_digit(fraction)}"


def _integers(number: int) -> Forms:
    if number < 100:
        yield _below_100(number)
        yield _digit_by_digit(str(number))
    elif number % 100 == 0:
        yield from _round_hundreds(number)
        yield _digit_by_digit(str(number))
    else:
        yield _digit_by_digit(str(number))
        yield from _with_oh(number)
        yield from _pairs(number)
        yield from _cardinals(number)


def _digit_by_digit(figures: str) -> str:
    return " ".join(DIGITS[int(figure)] for figure in figures)


def _with_oh(number: int) -> Forms:
    """One oh two; a last zero stays a zero."""
    words = [DIGITS[int(figure)] for figure in str(number)]
    if number < 10_000 and "zero" in words[:-1]:
        yield " ".join(["oh" if word == "zero" else word for word in words[:-1]] + words[-1:])


def _below_100(number: int) -> str:
    if number < 20:
        return (DIGITS + TEENS)[number]
    tens, digit = divmod(number, 10)
    return TENS[tens - 2] + (f" {DIGITS[digit]}" if digit else "")


def _pairs(number: int) -> Forms:
    """Eighteen fifty; nineteen oh five."""
    first, second = divmod(number, 100)
    if first < 100 and first % 10 | (first > 9):
        yield f"{_below_100(first)} {_second_half(second)}"


def _second_half(number: int) -> str:
    return f"oh {DIGITS[number]}" if number < 10 else _below_100(number)


def _cardinals(number: int) -> Forms:
    thousands, below = divmod(number, 1000)
    head = f"{_first_cardinal(thousands)} thousand" if thousands else ""
    for joint in ("and ", ""):
        # "ten thousand fifty" could be two numbers, so above nine thousand the "and" stays.
        if joint or below >= 100 or thousands < 10:
            yield f"{head} {_hundreds(below, joint, after=bool(head))}".strip()
    if number < 200:
        yield f"a hundred and {_below_100(below - 100)}"


def _first_cardinal(number: int) -> str:
    return _hundreds(number, "and ", after=False)


def _hundreds(number: int, joint: str, *, after: bool) -> str:
    """Below a thousand; `after`: something larger was said before it."""
    hundreds, below = divmod(number, 100)
    head = f"{DIGITS[hundreds]} hundred" if hundreds else ""
    if not below:
        return head
    return f"{head} {joint if head or after else ''}{_below_100(below)}".strip()


def _round_hundreds(number: int) -> Forms:
    """Whole hundreds, from a hundred up: the wordings with hundred and thousand."""
    thousands, below = divmod(number, 1000)
    tail = f" {DIGITS[below // 100]} hundred" if below else ""
    if not thousands:
        yield tail.strip()
    elif thousands < 100:
        yield f"{_digit_by_digit(str(thousands))} thousand{tail}"
        yield f"{_below_100(thousands)} thousand{tail}"
    else:
        yield f"{_first_cardinal(thousands)} thousand{tail}"
    if below and 1 <= thousands < 10:
        yield f"{_below_100(number // 100)} hundred"
    if number in (100, 1000):
        yield "a hundred" if number == 100 else "a thousand"


# --- altitudes ---------------------------------------------------------------------------------


def _altitudes(value: float) -> Forms:
    feet = _whole(value, _HIGHEST_FEET, "altitude in feet")
    if feet == 0:
        yield from ("zero", "zero feet")
    elif feet % 100 == 0:
        yield from _round_hundreds(feet)
    elif feet >= 1000:
        yield from _integers(feet)
    else:
        # Without "feet", two and three figures may be thousands or a flight level.
        yield from (f"{form} feet" for form in _integers(feet))
    yield from _levels(feet)


def _levels(feet: int) -> Forms:
    if feet % 100 == 0 and feet >= _LOWEST_FLIGHT_LEVEL_FEET:
        yield f"flight level {_digit_by_digit(f'{feet // 100:03d}')}"
        if feet % 10_000 == 0:
            yield f"flight level {DIGITS[feet // 10_000]} hundred"
    if feet % 1000 == 0 and feet:
        yield from (f"angels {form}" for form in _angels(feet // 1000))


def _angels(thousands: int) -> Iterable[str]:
    return dict.fromkeys((_digit_by_digit(str(thousands)), _below_100(thousands)))


# --- durations and clock times -------------------------------------------------------------------


def _durations(value: float) -> Forms:
    if not 0 <= value <= _LONGEST_SECONDS:
        raise ValueError(f"{value:g} is no duration in seconds: from 0 to {_LONGEST_SECONDS}")
    if not float(value).is_integer():
        forms = (form for form in _numbers(value) if not form.startswith("point"))
        yield from (f"{form} seconds" for form in forms)
        return
    minutes, seconds = divmod(int(value), 60)
    if minutes == 0:
        yield from _seconds(seconds)
    elif seconds == 0:
        yield from _minutes(minutes)
    else:
        yield from _minutes_and_seconds(minutes, seconds)


def _seconds(seconds: int) -> Forms:
    unit = "second" if seconds == 1 else "seconds"
    yield f"{_below_100(seconds)} {unit}"
    if seconds >= 10 or seconds == 0:
        yield _below_100(seconds)
    if seconds == 30:
        yield "half a minute"
    if seconds >= 10:
        yield f"{_digit_by_digit(str(seconds))} seconds"
        yield _digit_by_digit(str(seconds))


def _minutes(minutes: int) -> Forms:
    hours, below = divmod(minutes, 60)
    if hours and not below:
        yield f"{_cardinal(hours)} {'hour' if hours == 1 else 'hours'}"
    if hours and below:
        yield f"{_cardinal(hours)} {'hour' if hours == 1 else 'hours'} {_minutes_said(below)}"
    yield _minutes_said(minutes)
    yield from _in_seconds(60 * minutes)
    if minutes == 1:
        yield "a minute"
    if 10 <= minutes < 100:
        yield f"{_digit_by_digit(str(minutes))} minutes"


def _minutes_and_seconds(minutes: int, seconds: int) -> Forms:
    said = _minutes_said(minutes)
    short = _below_100(seconds)
    yield f"{said} {short}"
    yield from _in_seconds(60 * minutes + seconds)
    if minutes < 100:
        yield f"{_below_100(minutes)} {_second_half(seconds)}"
    yield f"{said} {short} seconds"
    yield f"{said} and {short} seconds"
    if seconds == 30:
        yield f"{said} and a half" if minutes == 1 else f"{_cardinal(minutes)} and a half minutes"
    if minutes == 1:
        yield f"a minute {short}"
        if seconds == 30:
            yield "a minute and a half"
    yield f"{_cardinal(minutes)} plus {short}"
    if minutes == 1 and seconds < 40:  # up to nine nine
        yield f"{_digit_by_digit(str(60 + seconds))} seconds"


def _in_seconds(seconds: int) -> Forms:
    """A minute and more counted in seconds only."""
    if seconds <= _LONGEST_IN_SECONDS:
        yield f"{_cardinal(seconds)} seconds"


def _minutes_said(minutes: int) -> str:
    return f"{_cardinal(minutes)} {'minute' if minutes == 1 else 'minutes'}"


def _cardinal(number: int) -> str:
    if number < 1000:
        return _hundreds(number, "and ", after=False) or DIGITS[0]
    return next(_cardinals(number))


def _clock_times(value: float) -> Forms:
    minutes, seconds = divmod(_whole(value, _LONGEST_SECONDS - 1, "time of day in seconds"), 60)
    hour, minute = divmod(minutes, 60)
    if seconds:
        yield _digit_by_digit(f"{hour:02d}{minute:02d}{seconds:02d}")
        return
    yield _digit_by_digit(f"{hour:02d}{minute:02d}")
    if minute == 0:
        if hour:
            yield f"{'' if hour > 9 else 'zero '}{_below_100(hour)} hundred"
    elif hour:
        yield f"{_below_100(hour)} {_second_half(minute)}"
        if hour < 10:
            yield f"oh {_below_100(hour)} {_second_half(minute)}"


_SAYERS: Final[dict[Quantity, Callable[[float], Forms]]] = {
    "number": _numbers,
    "altitude": _altitudes,
    "duration": _durations,
    "clock": _clock_times,
}
