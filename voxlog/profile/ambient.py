"""Ambient pressure at a level as run sheets write it: an altitude, or a depth in sea water."""

from collections.abc import Mapping
from typing import Final

from voxlog.profile.atmosphere import METRES_PER_FOOT, standard_pressure
from voxlog.profile.pressure import PA_PER_PSI, SEA_LEVEL_PA, Pressure

__all__ = ["PA_PER_FSW", "PA_PER_MSW", "ambient_pressure", "is_altitude", "is_depth"]

PA_PER_MSW: Final = 10_000.0
"""Pascals in a metre of sea water: a tenth of a bar, by definition of the unit."""

PA_PER_FSW: Final = 64 / 144 * PA_PER_PSI
"""Pascals in a foot of sea water of 64 lb/ft3: 0.44444 psi, 0.30643 msw (US Navy Diving Manual).

The manual's rule of thumb of 33 fsw to the atmosphere gives 0.2 % more; both are in use.
"""

_METRES: Final[Mapping[str, float]] = {"ft": METRES_PER_FOOT, "m": 1.0, "km": 1000.0}
_DEPTH_PA: Final[Mapping[str, float]] = {"msw": PA_PER_MSW, "fsw": PA_PER_FSW}


def is_altitude(unit: str) -> bool:
    """Whether levels in this unit are pressure altitudes: ft, m, km."""
    return unit in _METRES


def is_depth(unit: str) -> bool:
    """Whether levels in this unit are depths of a hyperbaric chamber: msw, fsw."""
    return unit in _DEPTH_PA


def ambient_pressure(level: float, unit: str, surface: Pressure | None = None) -> Pressure | None:
    """Absolute pressure at a level; None for a unit that names no pressure, or outside its range.

    level: a pressure altitude (ft, m or km: standard atmosphere, -5 to 80 km), or a depth (msw or
    fsw, 0 or more: pressure at the surface and that of the water). surface: the pressure at depth
    0, the standard's 1013.25 hPa unless given; altitudes do not depend on it.
    """
    if unit in _METRES:
        try:
            return standard_pressure(level * _METRES[unit])
        except ValueError:
            return None
    if unit in _DEPTH_PA and level >= 0:
        return Pressure((surface or Pressure(SEA_LEVEL_PA)).pa + level * _DEPTH_PA[unit])
    return None
