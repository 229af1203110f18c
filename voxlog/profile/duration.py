"""How long a run was at or above a level."""

from dataclasses import dataclass
from itertools import pairwise

from voxlog.profile.estimate import Point, Profile

__all__ = ["TimeAbove", "time_above"]

_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class TimeAbove:
    """Seconds at or above (of a depth: at or below) a level; shortest and longest from the band."""

    level: float
    seconds: float
    shortest: float
    longest: float


def time_above(profile: Profile, level: float) -> TimeAbove:
    """How long the run was at or above `level`, in all, between its first and last point.

    level: in the profile's unit. A stay at `level` counts, however the gauge wandered in it.
    """
    lines = (
        [(point.t, point.level) for point in profile.points],
        [(point.t, _lowest(point, profile)) for point in profile.points],
        [(point.t, _highest(point, profile)) for point in profile.points],
    )
    estimate, shortest, longest = (_seconds_at_least(line, level - _SAME) for line in lines)
    return TimeAbove(level, estimate, min(shortest, estimate), max(longest, estimate))


def _lowest(point: Point, profile: Profile) -> float:
    """Without what the band allows for the reading of a level that is kept."""
    return min(point.low + profile.reading, point.level)


def _highest(point: Point, profile: Profile) -> float:
    return max(point.high - profile.reading, point.level)


def _seconds_at_least(line: list[tuple[float, float]], level: float) -> float:
    seconds = 0.0
    for (since, one), (until, other) in pairwise(line):
        if one >= level and other >= level:
            seconds += until - since
        elif max(one, other) >= level:
            seconds += (until - since) * (max(one, other) - level) / abs(other - one)
    return seconds
