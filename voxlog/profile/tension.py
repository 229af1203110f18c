"""Oxygen tensions of a breathing gas: inspired and alveolar, in mmHg. Formulas, not measurements.

    inspired   PIO2 = FIO2 (PB - 47)
    alveolar   PAO2 = FIO2 (PB - 47) - PACO2 (FIO2 + (1 - FIO2) / R)

The alveolar gas equation in its full form; J. Conkin, "Equivalent air altitude and the alveolar
gas equation", Aerosp Med Hum Perform 2016;87(1):61-64. 47 mmHg is the pressure of water vapour at
37 degrees Celsius. PACO2 40 mmHg and R 0.8 are resting values near sea level. At altitude a person
breathes more and PACO2 falls, so that the true PAO2 is higher than the equation gives with 40;
what a subject's is nobody knows without measuring it.
"""

from typing import Final

from voxlog.profile.pressure import Pressure

__all__ = [
    "AIR_FIO2",
    "OXYGEN_FIO2",
    "PACO2_MMHG",
    "RESPIRATORY_EXCHANGE",
    "WATER_VAPOUR_MMHG",
    "alveolar_po2_mmhg",
    "inspired_po2_mmhg",
]

AIR_FIO2: Final = 0.2095
OXYGEN_FIO2: Final = 1.0
WATER_VAPOUR_MMHG: Final = 47.0
PACO2_MMHG: Final = 40.0
RESPIRATORY_EXCHANGE: Final = 0.8


def inspired_po2_mmhg(ambient: Pressure, fio2: float) -> float:
    """Tension of oxygen in inspired gas, warmed and saturated in the windpipe, mmHg.

    ambient: absolute pressure. fio2: fraction of oxygen in the dry gas, 0 to 1. ValueError for
    another fraction, and at or below 47 mmHg, where water vapour alone fills the lungs.
    """
    if not 0 <= fio2 <= 1:
        raise ValueError(f"a fraction of oxygen of {fio2:g} is not between 0 and 1")
    if ambient.mmhg <= WATER_VAPOUR_MMHG:
        raise ValueError(f"{ambient.mmhg:.1f} mmHg is no more than water vapour's in the lungs")
    return fio2 * (ambient.mmhg - WATER_VAPOUR_MMHG)


def alveolar_po2_mmhg(
    ambient: Pressure,
    fio2: float,
    paco2_mmhg: float = PACO2_MMHG,
    respiratory_exchange: float = RESPIRATORY_EXCHANGE,
) -> float:
    """Tension of oxygen in the alveoli by the alveolar gas equation, mmHg.

    ambient, fio2: as for `inspired_po2_mmhg`, with its errors. paco2_mmhg: alveolar carbon dioxide,
    more than 0. respiratory_exchange: R, more than 0, usually 0.7 to 1. ValueError where the
    result is not positive: nobody can breathe so with that PACO2, and the number means nothing
    (on air with 40 mmHg above some 25,500 ft).
    """
    if paco2_mmhg <= 0 or respiratory_exchange <= 0:
        raise ValueError("PACO2 and R must be more than 0")
    carbon_dioxide = paco2_mmhg * (fio2 + (1 - fio2) / respiratory_exchange)
    tension = inspired_po2_mmhg(ambient, fio2) - carbon_dioxide
    if tension <= 0:
        raise ValueError(f"with a PACO2 of {paco2_mmhg:g} mmHg no oxygen is left in the equation")
    return tension
