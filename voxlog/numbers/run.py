"""The grammar of one unbroken run of number words: which number, and how it was spoken.

A run is read as a whole or not at all. Adding up whatever is there is how ready-made libraries
turn "one eight thousand" into 9,000; here a run that fits no pattern has no value.
"""

import re
from collections.abc import Sequence
from typing import Literal, NamedTuple

__all__ = ["RUN", "Run", "Shape", "read_run"]

Shape = Literal["cardinal", "digits", "pair", "decimal", "numeral"]


class Run(NamedTuple):
    """A run of number words, read.

    value: the plain number.
    shape: cardinal (twenty five thousand; two five thousand), digits (two five zero), pair
        (eighteen fifty), decimal, or numeral (written in digits, less than a thousand or whole).
    digits: the figures in order where they were spoken or written one by one, with leading
        zeros ("0945"); "" otherwise.
    parts: the two halves of a pair: eighteen fifty -> (18, 50).
    scale: the largest of "hundred" and "thousand" that belongs to it, else 1; a scaled number
        cannot be short for something larger.
    said_oh: a zero was spoken as "oh", as in clock times.
    """

    value: float
    shape: Shape
    digits: str = ""
    parts: tuple[int, int] | None = None
    scale: int = 1
    said_oh: bool = False


# A run as a regular expression over kinds (see vocabulary). It never gives back what it took:
# a pattern that does not like what follows must fail rather than settle for part of a number.
_SURE = "dztywqnNF"
RUN = (
    rf"(?>(?:a(?=[hk])|[ou](?=[{_SURE}])|[{_SURE}])"
    rf"(?:[{_SURE}ouhk]|p(?=[{_SURE}o])|(?<=[hk])&(?=[{_SURE}]|a[hk])|(?<=[k&])a(?=[hk]))*+)"
)

_BELOW_100 = r"(?:yd|[dtyw])"
_HUNDREDS = rf"[da]h(?:&?{_BELOW_100})?"
# "Two thousand fifty" is one number; "ten thousand fifty" and "one zero thousand fifty" are more
# likely an altitude and then a reading, so there the tens need their "and".
_THOUSANDS = (
    rf"(?:(?:a|{_BELOW_100}|{_HUNDREDS}|n)k(?:&{_BELOW_100}|&?{_HUNDREDS}|n)?"
    rf"|[ad]k(?:yd|[dty])|d[dzo]k(?:&?{_HUNDREDS}|n)?)"
)
_CARDINAL = re.compile(rf"z|{_BELOW_100}(?:h(?:&?{_BELOW_100})?)?|{_HUNDREDS}|{_THOUSANDS}")
# "eighteen five hundred": thousands without the word.
_SHORT_THOUSANDS = re.compile(rf"(?:t|yd|w)dh(?:&?{_BELOW_100})?")
_DIGITS = re.compile(r"[dzou]{2,12}")
_CLOCK_HUNDRED = re.compile(r"[zo]dh")
_PAIR = re.compile(r"(?P<first>[zo]d|yd|[dtyw])(?P<second>yd|[tyw]|q|[zo]d)")
# A recogniser's "one eight thousand": 1 8000, 1 0000, 2 5 000, 25 000.
_JOINED = re.compile(r"dN|(?:d[dz]|d|w)n")
_POINT = re.compile(r"(?P<whole>[^pF]*)p(?P<fraction>[dzou]{1,9}|yd|[tywqnN])(?P<thousand>k?)")


def read_run(kinds: str, figures: Sequence[str]) -> Run | None:
    """The one number a run says, or None if it is broken or could be read in two ways.

    kinds, figures: the run's words as given by vocabulary.kind_of and figure_of.
    """
    if len(kinds) == 1 and kinds in "wqnN":
        return Run(float(figures[0]), "numeral", figures[0])
    if kinds in ("F", "Fk"):
        scale = 1000 if kinds == "Fk" else 1
        return Run(_scaled(figures[0], scale), "decimal", scale=scale)
    if _CARDINAL.fullmatch(kinds):
        return _cardinal(kinds, figures)
    if _DIGITS.fullmatch(kinds):
        digits = "".join(figures)
        return Run(float(digits), "digits", digits, said_oh="o" in kinds)
    return _unusual(kinds, figures)


def _unusual(kinds: str, figures: Sequence[str]) -> Run | None:
    if pair := _PAIR.fullmatch(kinds):
        first = _below_100(figures[: pair.end("first")])
        second = _below_100(figures[pair.end("first") :])
        return Run(float(100 * first + second), "pair", parts=(first, second))
    if _SHORT_THOUSANDS.fullmatch(kinds):
        hundred = kinds.index("h") - 1
        below = _cardinal_value(kinds[hundred:], figures[hundred:])
        value = 1000 * _below_100(figures[:hundred]) + below
        return Run(float(value), "cardinal", scale=1000)
    if _CLOCK_HUNDRED.fullmatch(kinds):
        digits = f"0{figures[1]}00"
        return Run(float(digits), "digits", digits, scale=100)
    if "p" in kinds:
        return _with_point(kinds, figures)
    if _JOINED.fullmatch(kinds) and _is_joined(figures[-1]):
        digits = "".join(figures)
        return Run(float(digits), "numeral", digits, scale=1000)
    return None


def _cardinal(kinds: str, figures: Sequence[str]) -> Run:
    digits = figures[0] if len(kinds) == 1 and kinds in "dz" else ""
    scale = 1000 if "k" in kinds else 100 if "h" in kinds else 1
    return Run(float(_cardinal_value(kinds, figures)), "cardinal", digits, scale=scale)


def _cardinal_value(kinds: str, figures: Sequence[str]) -> int:
    """The value of a run that fits _CARDINAL; nothing else may be given to it."""
    total = part = 0
    previous = ""
    for kind, figure in zip(kinds, figures, strict=True):
        if kind == "h":
            part = 100 * (part or 1)
        elif kind == "k":
            total, part = 1000 * (part or 1), 0
        elif kind in "&a":
            pass
        elif previous == "d":  # only before "thousand": one eight thousand
            part = 10 * part + int(figure)
        else:
            part += int(figure)
        previous = kind
    return total + part


def _below_100(figures: Sequence[str]) -> int:
    return sum(int(figure) for figure in figures)  # twenty + five; oh + five


def _with_point(kinds: str, figures: Sequence[str]) -> Run | None:
    match = _POINT.fullmatch(kinds)
    if match is None:
        return None
    point = match.end("whole")
    whole = read_run(kinds[:point], figures[:point]) if point else Run(0.0, "cardinal")
    if whole is None:
        return None
    spoken = figures[point + 1 : match.end("fraction")]
    fraction = str(_below_100(spoken)) if match["fraction"] == "yd" else "".join(spoken)
    scale = 1000 if match["thousand"] else 1
    value = _scaled(f"{whole.value:.0f}.{fraction}", scale)
    return Run(value, "decimal", scale=scale)


def _scaled(decimal: str, scale: int) -> float:
    return round(float(decimal) * scale, 9)  # 2.3 thousand is 2300, not 2299.9999999999995


def _is_joined(last: str) -> bool:
    return last == "000" or (len(last) == 4 and last.endswith("00"))
