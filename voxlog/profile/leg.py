"""The way from one station to the next: where the level may have been at each moment of it.

A leg is a straight line between its two stations, with a band around it. The band allows for

- the moment of a call: taken to begin within `CALL_TIMING_S` of the passing;
- the rate in between: from half to one and a half times the mean at either end of the leg (at a
  fraction `f` of its time the level may be `f (1 - f) / 2` of the climb ahead of the line, or as
  much behind it), and half as much again on the way into a level that is then kept;
- when the chamber left a stay: at the step that the sheet marks with `departs`, as a call; without
  one, or on the way to a stay that nobody called, the line goes on at the rate of the neighbouring
  leg, and the band allows for twice that rate and for leaving at once;
- a hold, a decompression: any level between the two stations at any moment.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from voxlog.profile.station import Station

__all__ = ["CALL_TIMING_S", "Leg", "legs"]

CALL_TIMING_S: Final = 3.0
"""How far from the passing of a level its call may begin, seconds. Common practice, no source."""

_BULGE_PASSING: Final = 0.5
_BULGE_INTO_A_STAY: Final = 0.75

_FASTEST: Final = 2.0
"""How many times the rate of the neighbouring leg the chamber may go."""


@dataclass(frozen=True, slots=True)
class Leg:
    """From `level` to `to`. left, reached: the best estimate of the two moments, in seconds.

    left_between, reached_between: their earliest and latest. is_box: whether nothing is known in
    between (a hold, a decompression). phase: whose rate limits hold. bulge: how far, at the most,
    the level may be ahead of the line or behind it, in quarters of the climb.
    """

    level: float
    to: float
    left: float
    reached: float
    left_between: tuple[float, float]
    reached_between: tuple[float, float]
    phase: str
    bulge: float
    is_box: bool = False

    @property
    def start(self) -> float:
        return self.left_between[0]

    @property
    def end(self) -> float:
        return self.reached_between[1]

    @property
    def climb(self) -> float:
        """Change of level; negative on the way down an altitude or up from a depth."""
        return self.to - self.level

    def band(self, moment: float) -> tuple[float, float]:
        """Lowest and highest level at a moment of the leg."""
        if self.is_box:
            return min(self.level, self.to), max(self.level, self.to)
        early = _fraction(moment, self.left_between[0], self.reached_between[0])
        late = _fraction(moment, self.left_between[1], self.reached_between[1])
        ahead = self.level + self.climb * min(early + self.bulge * early * (1 - early), 1.0)
        behind = self.level + self.climb * max(late - self.bulge * late * (1 - late), 0.0)
        return min(ahead, behind), max(ahead, behind)


def _fraction(moment: float, left: float, reached: float) -> float:
    if reached <= left:
        return 1.0 if moment >= reached else 0.0
    return min(max((moment - left) / (reached - left), 0.0), 1.0)


def legs(
    stations: Sequence[Station],
    holds: Sequence[float] = (),
    drops: Sequence[float] = (),
    departures: Sequence[float] = (),
) -> list[Leg]:
    """The legs between stations whose levels differ, in order.

    Moments in seconds. holds: in which the work was stopped; drops: of decompression cues;
    departures: of steps at which the chamber leaves.
    """
    pairs = list(pairwise(stations))
    rates = [_rate(one, other) for one, other in pairs]
    found = []
    for place, (one, other) in enumerate(pairs):
        if one.level == other.level:
            continue
        drop = _moment_in(drops, one.start, other.start)
        if drop is not None:
            found.append(_dropped(one, other, drop))
            continue
        after = rates[place + 1] if place + 1 < len(rates) else 0.0
        before = rates[place - 1] if place > 0 else 0.0
        leg = _leg(one, other, before, after)
        departed = _moment_in(departures, one.end, other.start) if one.is_stay else None
        if departed is not None:
            leg = _departed(leg, departed)
        is_held = _moment_in(holds, one.end, other.start) is not None
        found.append(replace(leg, is_box=True) if is_held else leg)
    return found


def _moment_in(moments: Sequence[float], since: float, until: float) -> float | None:
    """The last of the moments between the two."""
    return max((moment for moment in moments if since <= moment <= until), default=None)


def _departed(leg: Leg, moment: float) -> Leg:
    """The same, left at a moment that is known as well as that of a call."""
    earliest, latest = moment - CALL_TIMING_S, min(moment + CALL_TIMING_S, leg.reached)
    return replace(
        leg,
        left=moment,
        reached=max(leg.reached, moment),
        left_between=(max(earliest, leg.left_between[0]), latest),
    )


def _rate(one: Station, other: Station) -> float:
    """Levels a second between two stations; signed."""
    return (other.level - one.level) / max(other.start - one.end, 1.0)


def _dropped(one: Station, other: Station, drop: float) -> Leg:
    return Leg(
        level=one.level,
        to=other.level,
        left=drop,
        reached=other.start,
        left_between=(drop, drop),
        reached_between=(drop, other.start),
        phase=other.called_in or one.phase,
        bulge=0.0,
        is_box=True,
    )


def _leg(one: Station, other: Station, before: float, after: float) -> Leg:
    """before, after: rates of the neighbouring legs."""
    climb, own = other.level - one.level, _rate(one, other)
    left, left_between = one.end, (one.end - CALL_TIMING_S, one.end + CALL_TIMING_S)
    reached = other.start
    reached_between = (other.start - CALL_TIMING_S, other.start + CALL_TIMING_S)
    if one.is_stay:
        lasted = _lasted(climb, own, after)
        left = max(one.end, other.start - lasted)
        left_between = (one.end, max(one.end, other.start - lasted / _FASTEST))
    if not other.was_called:
        lasted = _lasted(climb, own, before)
        reached = min(other.start, max(left, one.end + lasted))
        reached_between = (min(other.start, one.end + lasted / _FASTEST), other.start)
    return Leg(
        level=one.level,
        to=other.level,
        left=left,
        reached=reached,
        left_between=left_between,
        reached_between=reached_between,
        phase=other.called_in or one.phase,
        bulge=_BULGE_INTO_A_STAY if other.is_stay else _BULGE_PASSING,
    )


def _lasted(climb: float, own: float, neighbour: float) -> float:
    """Seconds of a climb at the rate of the neighbouring leg, where that goes the same way."""
    rate = neighbour if neighbour * climb > 0 and abs(neighbour) > abs(own) else own
    return math.inf if rate == 0 else climb / rate
