"""Axes: where the ticks stand and what they say. Pure."""

import math
from dataclasses import dataclass

from voxlog.report.words import format_clock, format_value

__all__ = [
    "Scale",
    "Tick",
    "placed_times",
    "placed_values",
    "stacked",
    "time_ticks",
    "value_ticks",
]

_TIME_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400)


@dataclass(frozen=True, slots=True)
class Scale:
    """From values (low to high, low < high) to places on the page (first to last, in px)."""

    low: float
    high: float
    first: float
    last: float

    def __call__(self, value: float) -> float:
        """Rounded to a tenth of a px: finer cannot be seen, and makes the file larger."""
        share = (value - self.low) / (self.high - self.low)
        return round(self.first + share * (self.last - self.first), 1)


@dataclass(frozen=True, slots=True)
class Tick:
    """at: its place in px. label: what it says."""

    at: float
    label: str


def value_ticks(low: float, high: float, most: int) -> list[float]:
    """Round values (steps of 1, 2 or 5 times a power of ten), from at or below low to at or above
    high; at most `most` + 2 of them.
    """
    span = max(high - low, 1e-9)
    rough = span / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in (1, 2, 5, 10) if power * factor >= rough * (1 - 1e-9))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(number * step, 9) for number in range(first, max(last, first + 1) + 1)]


def time_ticks(seconds: float, most: int) -> list[float]:
    """Round times from 0 to the end: whole seconds, minutes or hours."""
    step = next((one for one in _TIME_STEPS if seconds / one <= most), _TIME_STEPS[-1])
    return [float(at) for at in range(0, math.floor(seconds) + 1, step)]


def placed_times(scale: Scale, most: int = 12) -> tuple[Tick, ...]:
    """Ticks of an axis of time that begins at 0."""
    return tuple(Tick(scale(at), format_clock(at)) for at in time_ticks(scale.high, most))


def placed_values(scale: Scale, values: list[float]) -> tuple[Tick, ...]:
    """Ticks of an axis of values, with a separator between thousands."""
    return tuple(Tick(scale(value), format_value(value, "")) for value in values)


def stacked(places: list[tuple[float, float]]) -> list[int]:
    """The line in which each label stands so that none covers another; line 0 is tried first.

    places: left and right end of each label, in order of the left ends.
    """
    ends: list[float] = []
    lines = []
    for left, right in places:
        line = next((n for n, end in enumerate(ends) if end <= left), len(ends))
        ends[line : line + 1] = [right]
        lines.append(line)
    return lines
