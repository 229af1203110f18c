"""Rapid decompression: the ideal time of an outflow through an orifice.

The cabin is one volume of air at one temperature (isothermal), emptied through an orifice that is
open all at once into a space at the final pressure. While the pressure inside is more than 1.893
times that outside the flow is choked and Fliegner's equation gives it,

    dm/dt = 0.0404 A p / sqrt(T)        (SI; p and T of the cabin)

which the Saint-Venant-Wantzel equation continues below that ratio. Source: G. Bar-Meir,
"Fundamentals of Compressible Fluid Mechanics", chapters on choked nozzles (Fliegner) and on
evacuating rigid chambers; both equations follow from isentropic flow of a perfect gas to the
orifice, with 1.4 as the ratio of its specific heats.
"""

import math
from typing import Final

from voxlog.profile.pressure import Pressure

__all__ = ["CHOKED_RATIO", "FLIEGNER", "ideal_decompression_s"]

_RATIO: Final = 1.4
_GAS_CONSTANT: Final = 8314.32 / 28.9644
_TEMPERATURE_K: Final = 288.15
_STEPS: Final = 200

CHOKED_RATIO: Final[float] = ((_RATIO + 1) / 2) ** (_RATIO / (_RATIO - 1))
"""Pressure inside over outside from which the flow is choked, 1.893."""

_CHOKED_FLOW: Final[float] = math.sqrt(_RATIO) * (2 / (_RATIO + 1)) ** (
    (_RATIO + 1) / (2 * (_RATIO - 1))
)

FLIEGNER: Final = _CHOKED_FLOW / math.sqrt(_GAS_CONSTANT)
"""Fliegner's constant, 0.0404 s sqrt(K) / m: the choked flow is that times A p / sqrt(T)."""


def ideal_decompression_s(
    volume_m3: float,
    orifice_m2: float,
    before: Pressure,
    after: Pressure,
    temperature_k: float = _TEMPERATURE_K,
) -> float:
    """Seconds until the cabin has the pressure outside; never longer in the ideal case.

    volume_m3, orifice_m2: of the cabin; effective area, more than 0. before, after: absolute
    pressures inside at first and outside. temperature_k: of the air, more than 0. ValueError
    for other values, and unless before >= after > 0. A real valve opens more slowly and lets less
    through, and the space beyond fills: real times are longer.
    """
    if min(volume_m3, orifice_m2, temperature_k) <= 0:
        raise ValueError("volume, orifice and temperature must be more than 0")
    if not before.pa >= after.pa > 0:
        raise ValueError("the pressure before must be no less than that after, and both above 0")
    ratio = before.pa / after.pa
    if ratio == 1:
        return 0.0
    characteristic_s = volume_m3 / (orifice_m2 * math.sqrt(_GAS_CONSTANT * temperature_k))
    choked = max(math.log(ratio / CHOKED_RATIO), 0.0) / _CHOKED_FLOW
    return characteristic_s * (choked + _subsonic(min(ratio, CHOKED_RATIO)))


def _subsonic(ratio: float) -> float:
    """The integral of dx / (x flow(x)) from 1 to `ratio`, x being pressure inside over outside.

    The flow is 0 at x = 1 and grows like sqrt(x - 1): with x = 1 + u * u the integrand is smooth.
    """
    width = math.sqrt(ratio - 1) / _STEPS
    return width * sum(_smooth((n + 0.5) * width) for n in range(_STEPS))


def _smooth(u: float) -> float:
    inside = 1 + u * u
    outside = 1 / inside
    flow = math.sqrt(
        2 * _RATIO / (_RATIO - 1) * (outside ** (2 / _RATIO) - outside ** ((_RATIO + 1) / _RATIO))
    )
    return float(2 * u / (inside * flow))
