"""Rates of ascent and descent, leg by leg, against the sheet's limits."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from voxlog.profile.estimate import Profile
from voxlog.profile.leg import CALL_TIMING_S, Leg
from voxlog.sheet.model import Rate, Sheet

__all__ = ["Against", "LegRate", "leg_rates"]

Against = Literal["within", "above", "below", "cannot tell", "no limits"]
"""How a rate stands to the sheet's limits. It is a description, not a decision."""


@dataclass(frozen=True, slots=True)
class LegRate:
    """Mean rate of a leg, in the unit a minute; positive whichever way the level changes.

    slowest, fastest: what it may have been, from when calls may have been made (95 %); fastest is
    infinite where the two moments may be one. limits: of the leg's phase.
    """

    leg: Leg
    rate: float
    slowest: float
    fastest: float
    limits: Rate | None
    against: Against


def leg_rates(sheet: Sheet, profile: Profile) -> tuple[LegRate, ...]:
    """One for each leg that is no decompression and has no hold in it."""
    limits = {phase.id: phase.rate for phase in sheet.phases}
    return tuple(_rated(leg, limits) for leg in profile.legs if not leg.is_box)


def _rated(leg: Leg, limits: Mapping[str, Rate | None]) -> LegRate:
    lasted = leg.reached - leg.left
    slowest = 60 * abs(leg.climb) / _longest(leg)
    shortest = _shortest(leg)
    fastest = 60 * abs(leg.climb) / shortest if shortest > 0 else math.inf
    rate = 60 * abs(leg.climb) / lasted if lasted > 0 else math.inf
    wanted = limits.get(leg.phase)
    return LegRate(leg, rate, slowest, fastest, wanted, _against(slowest, fastest, wanted))


def _longest(leg: Leg) -> float:
    """Two calls that are each 3 s off are rarely off in opposite ways: the errors add squared."""
    early, late = leg.left - leg.left_between[0], leg.reached_between[1] - leg.reached
    return max(leg.reached - leg.left + math.hypot(early, late), CALL_TIMING_S)


def _shortest(leg: Leg) -> float:
    early, late = leg.left_between[1] - leg.left, leg.reached - leg.reached_between[0]
    return leg.reached - leg.left - math.hypot(early, late)


def _against(slowest: float, fastest: float, limits: Rate | None) -> Against:
    if limits is None:
        return "no limits"
    low = 0.0 if limits.min is None else limits.min
    high = math.inf if limits.max is None else limits.max
    if slowest > high:
        return "above"
    if fastest < low:
        return "below"
    return "within" if low <= slowest and fastest <= high else "cannot tell"
