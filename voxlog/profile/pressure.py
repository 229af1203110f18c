"""A pressure in the units of the trade."""

from dataclasses import dataclass
from typing import Final

__all__ = ["PA_PER_MMHG", "PA_PER_PSI", "SEA_LEVEL_PA", "Pressure"]

SEA_LEVEL_PA: Final = 101_325.0
"""Standard pressure at sea level, pascals; exact by definition (ISO 2533)."""

PA_PER_MMHG: Final = 133.322387415
"""Pascals in a conventional millimetre of mercury (13,595.1 kg/m3 at 9.80665 m/s2)."""

PA_PER_PSI: Final = 4.4482216152605 / 0.0254**2
"""Pascals in a pound-force per square inch; exact by the definitions of pound and inch."""


@dataclass(frozen=True, slots=True)
class Pressure:
    """An absolute pressure. pa: pascals, 0 or more."""

    pa: float

    @property
    def hpa(self) -> float:
        """Hectopascals, the same as millibars."""
        return self.pa / 100

    @property
    def mmhg(self) -> float:
        """Millimetres of mercury."""
        return self.pa / PA_PER_MMHG

    @property
    def psi(self) -> float:
        """Pounds-force per square inch, absolute."""
        return self.pa / PA_PER_PSI

    @property
    def atmospheres(self) -> float:
        """Standard atmospheres, absolute (ATA)."""
        return self.pa / SEA_LEVEL_PA
