"""Limits in another unit. Pure.

Factors are those of NIST Special Publication 811 (2008), appendix B.8; ft, in, min and bar are
exact.
"""

import math
from collections.abc import Mapping

__all__ = ["NAMES", "converted_limits", "named_unit", "nice_step"]

# Kind and size in kPa, m or s.
_SIZES: Mapping[str, tuple[str, float]] = {
    "psi": ("pressure", 6.894757),
    "bar": ("pressure", 100.0),
    "mbar": ("pressure", 0.1),
    "hPa": ("pressure", 0.1),
    "kPa": ("pressure", 1.0),
    "mmHg": ("pressure", 0.1333224),
    "atm": ("pressure", 101.325),
    "ft": ("length", 0.3048),
    "m": ("length", 1.0),
    "s": ("time", 1.0),
    "min": ("time", 60.0),
}

NAMES: Mapping[str, tuple[str, ...]] = {
    "psi": ("psi",),
    "bar": ("bar",),
    "mbar": ("millibars", "millibar"),
    "hPa": ("hectopascals", "hectopascal"),
    "kPa": ("kilopascals", "kilopascal"),
    "mmHg": ("millimetres", "millimeters"),
    "atm": ("atmospheres", "atmosphere"),
    "ft": ("feet", "foot"),
    "m": ("metres", "meters", "metre", "meter"),
    "s": ("seconds", "second"),
    "min": ("minutes", "minute"),
}
"""What a unit is called aloud, the usual word first."""


def converted_limits(limits: Mapping[str, float], unit: str, to: str) -> dict[str, float] | None:
    """The numbers of a value or reading (step, min, max, low, high) in another unit.

    None for units that are not of one kind. `min` and `low` of what can be said go to multiples of
    the new step: limits to the inside, so that nothing passes that did not pass before; the range
    to the outside, so that everything can be said that could be said before.
    """
    size, other = _SIZES.get(unit), _SIZES.get(to)
    if size is None or other is None or size[0] != other[0]:
        return None
    factor = size[1] / other[1]
    step = nice_step(limits.get("step", 1.0) * factor)
    rounders = {"min": math.ceil, "max": math.floor, "low": math.floor, "high": math.ceil}
    numbers = {
        name: _multiple(rounders[name](round(value * factor / step, 6)), step)
        for name, value in limits.items()
        if name in rounders
    }
    return {"step": step, **numbers}


def nice_step(step: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not above `step` (0.001 at least)."""
    exponent = math.floor(math.log10(step))
    for digit, power in ((5, exponent), (2, exponent), (1, exponent)):
        if digit * 10.0**power <= step * (1 + 1e-9):
            return max(_multiple(digit, 10.0**power), 0.001)
    raise AssertionError(step)


def _multiple(count: int, step: float) -> float:
    return round(count * step, 6)


def named_unit(words: str, unit: str) -> str:
    """The unit that is named in some words, of the kind of `unit`; `unit` itself if none is."""
    size = _SIZES.get(unit)
    spoken = set(words.lower().split())
    for other, names in NAMES.items():
        if size and _SIZES[other][0] == size[0] and spoken.intersection(names):
            return other
    return unit
