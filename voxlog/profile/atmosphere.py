"""The standard atmosphere: pressure against altitude from -5 to 80 km.

Source: U.S. Standard Atmosphere 1976 (NOAA-S/T 76-1562), equations 33a and 33b, layers of its
table 4. ICAO Doc 7488/3 and ISO 2533 are the same atmosphere up to 80 km. All pressures here are
those of the standard; the weather's are another.

**The altitude of a chamber is a pressure altitude, and that is a geopotential height.** What
a chamber's altimeter shows goes into `standard_pressure` as it is. A height measured as a length is
geometric and is turned with `geopotential_m` first: taking one for the other is 0.5 mmHg wrong at
40,000 ft.
"""

import math
from bisect import bisect_right
from typing import Final, NamedTuple

from voxlog.profile.pressure import SEA_LEVEL_PA, Pressure

__all__ = [
    "HIGHEST_M",
    "LOWEST_M",
    "METRES_PER_FOOT",
    "geometric_m",
    "geopotential_m",
    "standard_altitude_m",
    "standard_pressure",
    "standard_temperature_k",
]

METRES_PER_FOOT: Final = 0.3048
LOWEST_M: Final = -5_000.0
HIGHEST_M: Final = 80_000.0
"""The ends of the table of ICAO Doc 7488/3, geopotential metres."""

_EARTH_RADIUS_M: Final = 6_356_766.0
_GRAVITY: Final = 9.80665
_GAS_CONSTANT: Final = 8314.32 / 28.9644
"""Of dry air, J/(kg K), with the universal constant that the standard uses."""
_EXPONENT: Final = _GRAVITY / _GAS_CONSTANT


class _Layer(NamedTuple):
    """From `base_m` up: temperature there, and how it changes with height, K/m."""

    base_m: float
    base_k: float
    lapse: float
    base_pa: float


def _layers() -> tuple[_Layer, ...]:
    lapses = (
        *((0.0, -0.0065), (11_000.0, 0.0), (20_000.0, 0.001), (32_000.0, 0.0028)),
        *((47_000.0, 0.0), (51_000.0, -0.0028), (71_000.0, -0.002)),
    )
    layers = [_Layer(0.0, 288.15, lapses[0][1], SEA_LEVEL_PA)]
    for base_m, lapse in lapses[1:]:
        below = layers[-1]
        base_k = below.base_k + below.lapse * (base_m - below.base_m)
        layers.append(_Layer(base_m, base_k, lapse, _pressure_in(below, base_m)))
    return tuple(layers)


def _pressure_in(layer: _Layer, height_m: float) -> float:
    rise = height_m - layer.base_m
    if layer.lapse == 0:
        return layer.base_pa * math.exp(-_EXPONENT * rise / layer.base_k)
    ratio = layer.base_k / (layer.base_k + layer.lapse * rise)
    return layer.base_pa * float(ratio ** (_EXPONENT / layer.lapse))


_LAYERS: Final = _layers()


def standard_pressure(altitude_m: float) -> Pressure:
    """Pressure of the standard atmosphere at a geopotential (pressure) altitude in metres.

    Range: -5,000 to 80,000 m; ValueError outside. Feet go in times `METRES_PER_FOOT`.
    """
    return Pressure(_pressure_in(_layer(altitude_m), altitude_m))


def standard_temperature_k(altitude_m: float) -> float:
    """Temperature of the standard atmosphere, kelvins; range and errors as `standard_pressure`."""
    layer = _layer(altitude_m)
    return layer.base_k + layer.lapse * (altitude_m - layer.base_m)


def standard_altitude_m(pressure: Pressure) -> float:
    """The pressure altitude of a pressure, geopotential metres; inverse of `standard_pressure`.

    Range: the pressures from -5,000 to 80,000 m, 177,687 down to 0.886 Pa; ValueError outside.
    """
    if not _LEAST_PA <= pressure.pa <= _MOST_PA:
        raise ValueError(f"{pressure.pa:g} Pa is outside the table, {_LEAST_PA:g} to {_MOST_PA:g}")
    layer = next(
        (each for each in reversed(_LAYERS) if pressure.pa <= each.base_pa),
        _LAYERS[0],
    )
    ratio = layer.base_pa / pressure.pa
    if layer.lapse == 0:
        return layer.base_m + math.log(ratio) * layer.base_k / _EXPONENT
    warmer = float(ratio ** (layer.lapse / _EXPONENT))
    # Pressure ratio to temperature ratio: T/Tb = (pb/p) ** (lapse / exponent).
    return layer.base_m + layer.base_k * (warmer - 1) / layer.lapse


def geopotential_m(geometric: float) -> float:
    """Geopotential height of a geometric height, both metres: H = r Z / (r + Z), equation 18.

    ValueError at or below minus the earth's radius (6,356,766 m).
    """
    if geometric <= -_EARTH_RADIUS_M:
        raise ValueError("a height below the centre of the earth")
    return _EARTH_RADIUS_M * geometric / (_EARTH_RADIUS_M + geometric)


def geometric_m(geopotential: float) -> float:
    """Geometric height of a geopotential height, both metres: Z = r H / (r - H), equation 19.

    ValueError at or above the earth's radius (6,356,766 m), where no height has that potential.
    """
    if geopotential >= _EARTH_RADIUS_M:
        raise ValueError("no height has that geopotential")
    return _EARTH_RADIUS_M * geopotential / (_EARTH_RADIUS_M - geopotential)


def _layer(altitude_m: float) -> _Layer:
    if not LOWEST_M <= altitude_m <= HIGHEST_M:
        raise ValueError(
            f"{altitude_m:g} m is outside the standard atmosphere's table, "
            f"{LOWEST_M:g} to {HIGHEST_M:g}"
        )
    return _LAYERS[max(bisect_right(_LAYERS, altitude_m, key=lambda each: each.base_m) - 1, 0)]


_LEAST_PA: Final = standard_pressure(HIGHEST_M).pa
_MOST_PA: Final = standard_pressure(LOWEST_M).pa
