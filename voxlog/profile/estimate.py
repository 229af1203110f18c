"""Altitude (or depth) against time, estimated from what a log says: calls, cues and stays.

    profile = altitude_profile(sheet, events)
    for point in profile.points:
        draw(point.t, point.level, point.low, point.high)

**What the uncertainty means.** At any moment between the first and the last point the level of the
chamber's own gauge is meant to be between `low` and `high` 19 times in 20, in runs whose rate keeps
its sign between two calls and in which calls begin within 3 s of the moment; tests count this over
simulated runs. What it is made of is said in `leg.py`. It is not the accuracy of the gauge, and it
says nothing where a call was heard wrong: `left_out` has the calls that were not believed.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from voxlog.follow.event import Event
from voxlog.profile.leg import Leg, legs
from voxlog.profile.station import (
    LeftOut,
    Station,
    decompression_cues,
    departures,
    level_unit,
    stations,
)
from voxlog.sheet.model import Sheet

__all__ = ["Point", "Profile", "Stay", "altitude_profile"]

_PARTS_OF_A_LEG = 12
_AT_ONCE_S = 0.01


@dataclass(frozen=True, slots=True)
class Point:
    """The level at a moment. t: seconds of the recording; low <= level <= high, in the unit."""

    t: float
    level: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Stay:
    """Time at one level. since, until: best estimates; between: their earliest and latest, seconds.

    until is the departure, as far as it can be told. At the end of what is known it is the last row
    of the stay, and the latest the last row of the log.
    """

    level: float
    phase: str
    since: float
    until: float
    since_between: tuple[float, float]
    until_between: tuple[float, float]

    @property
    def seconds(self) -> float:
        return self.until - self.since

    @property
    def seconds_between(self) -> tuple[float, float]:
        """Shortest and longest that the stay may have been."""
        shortest = max(self.until_between[0] - self.since_between[1], 0.0)
        return shortest, self.until_between[1] - self.since_between[0]


@dataclass(frozen=True, slots=True)
class Profile:
    """The estimate. Straight lines lead from point to point, of level, low and high alike.

    unit: of all levels (ft, msw ...), "" if the sheet has no callouts. reading: how far off a level
    that is kept may be, half of the step in which it is said. points: in order of time; empty where
    the log has no level. stays, legs: the same in words and figures. left_out: calls that were not
    believed.
    """

    unit: str
    reading: float
    points: tuple[Point, ...]
    stays: tuple[Stay, ...]
    legs: tuple[Leg, ...]
    left_out: tuple[LeftOut, ...]

    def at(self, moment: float) -> Point | None:
        """The estimate at a moment in seconds; None before the first and after the last point."""
        if not self.points or not self.points[0].t <= moment <= self.points[-1].t:
            return None
        after = bisect_right(self.points, moment, key=lambda point: point.t)
        if after == len(self.points):
            return self.points[-1]
        one, other = self.points[after - 1], self.points[after]
        share = (moment - one.t) / (other.t - one.t)
        return Point(
            moment,
            one.level + share * (other.level - one.level),
            one.low + share * (other.low - one.low),
            one.high + share * (other.high - one.high),
        )


def altitude_profile(sheet: Sheet, events: Iterable[Event]) -> Profile:
    """The level of a run against time, from its sheet and the rows of its log in any order.

    Levels are in the unit of the sheet's callouts, times in seconds of the recording. A log without
    any level gives a profile without points; nothing raises.
    """
    rows = sorted(events, key=lambda row: row.start)
    found, left_out = stations(sheet, rows)
    holds = [row.start for row in rows if row.kind == "hold"]
    drops, departed = list(decompression_cues(sheet, rows)), departures(sheet, rows)
    ways = legs(found, holds, drops, departed)
    reading = _reading(sheet)
    return Profile(
        unit=level_unit(sheet),
        reading=reading,
        points=_points(found, ways, reading),
        stays=_stays(found, ways, max((row.end for row in rows), default=0.0)),
        legs=tuple(ways),
        left_out=tuple(left_out),
    )


def _reading(sheet: Sheet) -> float:
    unit = level_unit(sheet)
    steps = [c.step for phase in sheet.phases for c in phase.callouts if c.unit == unit]
    return min(steps, default=0.0) / 2


def _points(found: Sequence[Station], ways: Sequence[Leg], reading: float) -> tuple[Point, ...]:
    if not found:
        return ()
    first, last = found[0].start, found[-1].end
    line = _line(found, ways)
    moments = {first, last} | {moment for moment, _ in line}
    for way in ways:
        part = (way.end - way.start) / _PARTS_OF_A_LEG
        moments |= {way.start + n * part for n in range(_PARTS_OF_A_LEG + 1)}
        moments |= {*way.left_between, *way.reached_between}
        # Its band begins and ends all at once; without these a line would lead up to it.
        moments |= {way.start - _AT_ONCE_S, way.end + _AT_ONCE_S} if way.is_box else set()
    # Rounded so that two reckonings of one moment are one point.
    ordered = sorted({round(moment, 3) for moment in moments if first <= moment <= last})
    return tuple(_point(moment, line, ways, reading) for moment in ordered)


def _line(found: Sequence[Station], ways: Sequence[Leg]) -> list[tuple[float, float]]:
    """The corners of the best estimate, in order of time."""
    corners = [(found[0].start, found[0].level)]
    for way in ways:
        corners += [(way.left, way.level), (way.reached, way.to)]
    return [*corners, (found[-1].end, found[-1].level)]


def _point(
    moment: float, line: Sequence[tuple[float, float]], ways: Sequence[Leg], reading: float
) -> Point:
    level = _on(line, moment)
    near = [way.band(moment) for way in ways if way.start <= moment <= way.end]
    low = min([level, *(band[0] for band in near)]) - reading
    high = max([level, *(band[1] for band in near)]) + reading
    return Point(moment, level, max(low, 0.0) if level >= 0 else low, high)


def _on(line: Sequence[tuple[float, float]], moment: float) -> float:
    after = bisect_right(line, moment, key=lambda corner: corner[0])
    if after == 0:
        return line[0][1]
    if after == len(line):
        return line[-1][1]
    (since, level), (until, to) = line[after - 1], line[after]
    return level + (to - level) * (moment - since) / (until - since)


def _stays(found: Sequence[Station], ways: Sequence[Leg], log_end: float) -> tuple[Stay, ...]:
    """What lies between the legs, where at least one station there is more than a moment."""
    if not found:
        return ()
    first, last = found[0].start, found[-1].end
    begins = [(first, (first, first)), *((way.reached, way.reached_between) for way in ways)]
    ends = [*((way.left, way.left_between) for way in ways), (last, (last, max(last, log_end)))]
    stays = []
    for (since, since_between), (until, until_between) in zip(begins, ends, strict=True):
        here = [s for s in found if s.is_stay and s.start < until and since < s.end]
        if here:
            stay = Stay(here[0].level, here[0].phase, since, until, since_between, until_between)
            stays.append(stay)
    return tuple(stays)
