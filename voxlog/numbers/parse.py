"""Spoken numbers to values.

Two questions are answered: which numbers are said somewhere in a text (`find_values`), and which
value a whole phrase stands for as an altitude, a duration, a time of day or a plain number
(`parse_value`; `readings` when the words leave a choice). Both read radiotelephony digits
("one eight thousand", "niner ait"), ordinary cardinals, and the shapes in which recognisers write
either ("1-8,000", "25,000", "1:30"). Words that do not make exactly one number make none.

Not done here: "to" and "for" are never read as two and four, and "negative" is no minus sign,
because it says "no" on the radio. See sound_alike for what a number may be mistaken for.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from voxlog.numbers import quantity as as_quantity
from voxlog.numbers.quantity import Quantity
from voxlog.numbers.run import RUN
from voxlog.numbers.unit_duration import DURATIONS, seconds_of
from voxlog.numbers.words import Span, Words, words_of

__all__ = ["Form", "Quantity", "SpokenValue", "find_values", "parse_value", "readings"]

Form = Literal[
    "cardinal",
    "digits",
    "pair",
    "decimal",
    "numeral",
    "flight-level",
    "angels",
    "duration",
    "clock",
]


@dataclass(frozen=True, slots=True)
class SpokenValue:
    """A number said in a text.

    first_word, last_word: indexes into ``normalise(text).split()``, both included. Units are left
        out, except those of a duration.
    value: feet for the forms flight-level and angels, seconds for duration, seconds since midnight
        for clock; else the plain number ("one thirty" is 130: ask parse_value what `text` is as
        a duration).
    text: the normalised words.
    """

    first_word: int
    last_word: int
    value: float
    form: Form
    text: str


Values = tuple[float, ...]


# --- a whole phrase ----------------------------------------------------------------------------

_ANY = r"(?P<run>[dzoutywqnNFhkp&a]+)"
_WHOLE_NUMBER = re.compile(rf"(?P<minus>m?){_ANY}(?P<half>(?:&ax)?)%?")
_WHOLE_ALTITUDE = re.compile(rf"(?P<prefix>(?:gl|L|A)?){_ANY}(?P<feet>f?)")
_WHOLE_DURATION = re.compile(rf"T?{_ANY}")
_WHOLE_CLOCK = re.compile(rf"T?(?:{_ANY}|(?P<colon>C))[ZH]?")


def parse_value(text: str, quantity: Quantity) -> float | None:
    """The one value that the whole of `text` stands for; None if there is none or a choice.

    Altitudes are feet ("flight level two five zero", "angels two five", "fifteen hundred"),
    durations seconds ("one minute thirty", "one thirty", "one plus thirty": minutes and seconds),
    clock times seconds since midnight.

    >>> parse_value("one eight thousand", "altitude"), parse_value("one thirty", "duration")
    (18000.0, 90.0)
    """
    values = readings(text, quantity)
    return values[0] if len(values) == 1 else None


def readings(text: str, quantity: Quantity) -> Values:
    """Every value that the whole of `text` may stand for, the likeliest first.

    >>> readings("two five zero", "altitude")
    (250.0, 25000.0)
    """
    return tuple(dict.fromkeys(_READERS[quantity](words_of(text))))


def _whole_number(words: Words) -> Values:
    match = _WHOLE_NUMBER.fullmatch(words.kinds)
    run = words.run(match.span("run")) if match else None
    if match is None or run is None:
        return ()
    value = run.value + 0.5 if match["half"] else run.value
    return (-value,) if match["minus"] else (value,)


def _whole_altitude(words: Words) -> Values:
    match = _WHOLE_ALTITUDE.fullmatch(words.kinds)
    if match is None:
        return ()
    if match["prefix"]:
        return _altitude_after(match["prefix"], match.span("run"), words)
    run = words.run(match.span("run"))
    return as_quantity.altitude(run, said_feet=bool(match["feet"])) if run else ()


def _altitude_after(prefix: str, span: Span, words: Words) -> Values:
    if prefix in ("gl", "L"):
        return as_quantity.flight_level(words.kinds[slice(*span)], words.figures(span))
    run = words.run(span)
    return as_quantity.angels(run) if run else ()


def _whole_duration(words: Words) -> Values:
    kinds = words.kinds
    start = 1 if kinds.startswith("T") else 0
    if kinds[start:] == "C":
        return as_quantity.duration_of_colon(words.words[start])
    if kinds[start:] in ("aM", "aH"):
        return (60.0 if kinds.endswith("M") else 3600.0,)
    for pattern in DURATIONS:
        if match := pattern.fullmatch(kinds, start):
            return seconds_of(match, words)
    match = _WHOLE_DURATION.fullmatch(kinds)
    run = words.run(match.span("run")) if match else None
    return as_quantity.duration(run) if run else ()


def _whole_clock(words: Words) -> Values:
    match = _WHOLE_CLOCK.fullmatch(words.kinds)
    if match is None:
        return ()
    if match["colon"]:
        return as_quantity.clock_of_colon(words.words[match.start("colon")])
    run = words.run(match.span("run"))
    return as_quantity.clock(run) if run else ()


_READERS: Final[dict[Quantity, Callable[[Words], Values]]] = {
    "number": _whole_number,
    "altitude": _whole_altitude,
    "duration": _whole_duration,
    "clock": _whole_clock,
}

# --- numbers in a text -------------------------------------------------------------------------

_RUN = re.compile(RUN)
_START = re.compile(rf"(?:gl|L|A)(?={RUN})|{RUN}|C|a(?=[MH])|xa(?=[MH])")
_PREFIXED = re.compile(rf"(?P<prefix>gl|L|A)(?P<run>{RUN})")
_CLOCK = re.compile(rf"(?P<run>C|{RUN})(?P<suffix>[ZH]?)")
_NUMBER = re.compile(rf"(?P<run>{RUN})(?P<half>(?:&ax)?)(?P<spoilt>(?:(?:&?a?|&{RUN})[!r])?)")

# What one place gave: the values found, and the word to go on from.
_Found = tuple[list[SpokenValue], int]


def find_values(text: str) -> tuple[SpokenValue, ...]:
    """Every number said in `text`, in order.

    A run of number words that is broken ("five two five thousand") has no value, nor has a part
    of it. Two numbers in one breath may look like one ("five" and "ninety one" like 591), and
    only the limits of what was expected can tell.

    >>> [(found.text, found.value) for found in find_values("one zero thousand, saturation 91%")]
    [('one zero thousand', 10000.0), ('91', 91.0)]
    """
    words = words_of(text)
    found: list[SpokenValue] = []
    place = 0
    while start := _START.search(words.kinds, place):
        here, place = _found_at(start.start(), words)
        found += here
    return tuple(found)


def _found_at(place: int, words: Words) -> _Found:
    if match := _PREFIXED.match(words.kinds, place):
        return _prefixed(match, words)
    number = _NUMBER.match(words.kinds, place)
    if number and _is_rest(place, words.kinds):
        return [], number.end("run")
    for read in (_clock_at, _duration_at):
        if found := read(place, words):
            return [found], found.last_word + 1
    return _numbers(number, words) if number else ([], place + 1)


def _is_rest(place: int, kinds: str) -> bool:
    """Whether the run at `place` is the end of a number whose beginning was not understood.

    "[One] hundred and five" is not 5, nor is "point five", although "at that point, five" is.
    """
    before = kinds[max(0, place - 2) : place]
    return before[-1:] in ("!", "p", "h", "k") or before in ("h&", "k&")


def _spoken(span: Span, value: float, form: Form, words: Words) -> SpokenValue:
    first, end = span
    return SpokenValue(first, end - 1, value, form, " ".join(words.words[first:end]))


def _prefixed(match: re.Match[str], words: Words) -> _Found:
    values = _altitude_after(match["prefix"], match.span("run"), words)
    form: Form = "angels" if match["prefix"] == "A" else "flight-level"
    return [_spoken(match.span(), value, form, words) for value in values], match.end()


def _clock_at(place: int, words: Words) -> SpokenValue | None:
    """A time of day that shows itself to be one: by "time", "zulu", "hours" or a leading zero."""
    match = _CLOCK.match(words.kinds, place)
    if match is None:
        return None
    said_time = words.before(place) == "T"
    if match["run"] == "C":
        return _colon(place, words, is_clock=said_time or match["suffix"] == "Z")
    run = words.run(match.span("run")) if said_time or match["suffix"] else None
    if run is None or (match["suffix"] != "Z" and len(run.digits) != 4 and run.scale != 100):
        return None  # "time one thirty" is an elapsed time, "two hours" a duration
    values = as_quantity.clock(run)
    return _spoken(match.span("run"), values[0], "clock", words) if values else None


def _colon(place: int, words: Words, *, is_clock: bool) -> SpokenValue | None:
    text = words.words[place]
    if is_clock or text.startswith("0"):
        form: Form = "clock"
        values = as_quantity.clock_of_colon(text)
    else:
        form = "duration"
        values = as_quantity.duration_of_colon(text)
    return _spoken((place, place + 1), values[0], form, words) if values else None


def _duration_at(place: int, words: Words) -> SpokenValue | None:
    for pattern in DURATIONS:
        if match := pattern.match(words.kinds, place):
            for value in seconds_of(match, words):
                return _spoken(match.span(), value, "duration", words)
    return None


def _numbers(match: re.Match[str], words: Words) -> _Found:
    first, end = match.span("run")
    if match["spoilt"] or match["run"].endswith("u"):  # two million; one too many
        return [], end
    if number := _number((first, end), words, half=bool(match["half"])):
        return [number], number.last_word + 1
    # A broken run may be two numbers with an "and" between them.
    parts = _parts(first, match["run"])
    return [number for part in parts if (number := _number(part, words))], end


def _parts(first: int, kinds: str) -> list[Span]:
    cuts = [place for place, kind in enumerate(kinds) if kind == "&"]
    if not cuts:
        return []
    starts = [first, *(first + cut + 1 for cut in cuts)]
    ends = [*(first + cut for cut in cuts), first + len(kinds)]
    return list(zip(starts, ends, strict=True))


def _number(span: Span, words: Words, *, half: bool = False) -> SpokenValue | None:
    first, end = span
    run = words.run(span)
    if run is None and words.kinds[first] == "o":  # "oh, one five thousand"
        first += 1
        run = words.run((first, end))
    if run is None:
        return None
    value = run.value + 0.5 if half else run.value
    form: Form = "decimal" if half else run.shape
    if words.before(first) == "m":
        first, value = first - 1, -value
    return _spoken((first, end + 3 if half else end), value, form, words)
