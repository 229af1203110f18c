"""Durations said with units: "one minute thirty", "a minute and a half", "one plus thirty"."""

import re
from typing import Final

from voxlog.numbers.run import RUN
from voxlog.numbers.words import Words

__all__ = ["DURATIONS", "seconds_of"]

_NOT_A_UNIT = r"(?![fHM%!r])"
DURATIONS = tuple(
    re.compile(pattern.replace("V", RUN))
    for pattern in (
        r"(?P<hours>V|a)H&?(?P<minutes>V)M(?:&?(?P<seconds>V)S)?",
        r"(?P<minutes>V|a)M&?(?P<seconds>V)S",
        r"(?P<minutes>V|a)M(?P<half>&ax)",
        rf"(?P<minutes>V|a)M(?P<seconds>V){_NOT_A_UNIT}",
        r"(?P<minutes>V)(?P<half>&ax)M",
        r"(?P<hours>V|a)H(?P<half>&ax)",
        r"(?P<hours>V)(?P<half>&ax)H",
        r"(?P<half>x)a(?P<unit>[MH])",
        rf"(?P<minutes>V)\+(?P<seconds>V)S?{_NOT_A_UNIT}",
        r"(?P<minutes>V)M",
        r"(?P<seconds>V)S",
        r"(?P<hours>V)H",
    )
)
_UNITS: Final = {"hours": 3600, "minutes": 60, "seconds": 1}


def seconds_of(match: re.Match[str], words: Words) -> tuple[float, ...]:
    """Seconds of a match of one of DURATIONS."""
    named = [name for name in _UNITS if match.groupdict().get(name) is not None]
    total = 0.0
    for name in named:
        count = _count(match, name, words)
        # After a larger unit, sixty and more is no count of this one but another number.
        if count is None or (name != named[0] and count >= 60):
            return ()
        total += count * _UNITS[name]
    if match.groupdict().get("half"):
        unit = _UNITS[named[0]] if named else (60 if match["unit"] == "M" else 3600)
        total += unit / 2
    return (round(total, 9),)


def _count(match: re.Match[str], name: str, words: Words) -> float | None:
    if match[name] == "a":
        return 1.0
    run = words.run(match.span(name))
    if run is None or run.shape == "pair" or len(run.digits) > 3:  # zero nine four five hours
        return None
    return run.value
