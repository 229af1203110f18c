"""Published values: "Applied Biofluid Mechanics" s.3.9 (fliphtml5.com/bcnws/mjli, page 121) and
Table 1 of adc.bmj.com (markup 173798), whose pressures are taken as printed."""

import pytest

from voxlog.profile.atmosphere import METRES_PER_FOOT, standard_altitude_m, standard_pressure
from voxlog.profile.pressure import PA_PER_MMHG, Pressure
from voxlog.profile.tension import alveolar_po2_mmhg, inspired_po2_mmhg


def mmhg(pressure: float) -> Pressure:
    return Pressure(pressure * PA_PER_MMHG)


def feet(altitude: float) -> Pressure:
    return standard_pressure(altitude * METRES_PER_FOOT)


@pytest.mark.parametrize(
    ("barometer", "fraction", "published"),
    [
        (380, 0.2093, 70),  # 18,000 ft
        (250, 0.2093, 43),  # 29,000 ft; the arithmetic gives 42.5
        (526, 0.2095, 100),  # 3,000 m
        (405, 0.2095, 75),  # 5,000 m
        (267, 0.2095, 46),  # 8,000 m
        (199, 0.2095, 32),  # 10,000 m
    ],
)
def test_inspired_tensions_are_the_published_ones(
    barometer: float, fraction: float, published: float
) -> None:
    assert inspired_po2_mmhg(mmhg(barometer), fraction) == pytest.approx(published, abs=0.6)


@pytest.mark.parametrize(
    ("altitude", "air", "oxygen"),
    [
        (0, 149.4, 713.0),
        (8_000, 108.4, 517.5),
        (14_000, 83.7, 399.5),
        (25_000, 49.2, 235.0),
        (40_000, 19.6, 93.7),
    ],
)
def test_inspired_tensions_by_altitude(altitude: float, air: float, oxygen: float) -> None:
    """Computed beforehand from the same formula and another atmosphere (ambiance)."""
    assert inspired_po2_mmhg(feet(altitude), 0.2095) == pytest.approx(air, abs=0.05)
    assert inspired_po2_mmhg(feet(altitude), 1.0) == pytest.approx(oxygen, abs=0.05)


@pytest.mark.parametrize(
    ("altitude", "fraction", "expected"),
    [
        (0, 0.2095, 101.5),
        (10_000, 0.2095, 51.7),
        (18_000, 0.2095, 21.8),
        (0, 1.0, 673.0),
        (34_000, 1.0, 100.5),
        (45_000, 1.0, 23.6),
    ],
)
def test_the_alveolar_gas_equation(altitude: float, fraction: float, expected: float) -> None:
    assert alveolar_po2_mmhg(feet(altitude), fraction) == pytest.approx(expected, abs=0.05)


def test_on_oxygen_the_exchange_ratio_cancels_out() -> None:
    tensions = {round(alveolar_po2_mmhg(feet(30_000), 1.0, 40, r), 9) for r in (0.7, 0.8, 1.0)}
    assert len(tensions) == 1


@pytest.mark.parametrize(
    ("published_ft", "air_ft"),
    # 33,700 ft on oxygen is a sea level on air with PAO2 103 (aviationbanter.com, post 446803).
    [(33_700, 0), (40_000, 10_000)],
)
def test_equivalent_altitudes_on_oxygen(published_ft: float, air_ft: float) -> None:
    """By equal alveolar tension; other criteria give other altitudes, hence the tolerance."""
    wanted = alveolar_po2_mmhg(feet(air_ft), 0.2095)
    ambient = mmhg(wanted + 40 + 47)
    assert standard_altitude_m(ambient) / METRES_PER_FOOT == pytest.approx(published_ft, abs=350)


@pytest.mark.parametrize(
    ("barometer", "fraction", "paco2", "ratio", "words"),
    [
        (47.0, 1.0, 40, 0.8, "water vapour"),
        (0.0, 1.0, 40, 0.8, "water vapour"),
        (760, 1.01, 40, 0.8, "not between 0 and 1"),
        (760, -0.1, 40, 0.8, "not between 0 and 1"),
        (760, 0.21, 0, 0.8, "more than 0"),
        (760, 0.21, 40, 0.0, "more than 0"),
        # Air at 26,000 ft: the formula would be negative.
        (269.8, 0.2095, 40, 0.8, "no oxygen is left"),
    ],
)
def test_what_means_nothing_is_refused(
    barometer: float, fraction: float, paco2: float, ratio: float, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        alveolar_po2_mmhg(mmhg(barometer), fraction, paco2, ratio)
