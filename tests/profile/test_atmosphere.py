"""Against the tables of the standard, and two libraries' and others' arithmetic.

Sources: layer bases of U.S. Standard Atmosphere 1976 (fxsolver.com/solve/preset/table/1); closed
forms of the same standard (scipp.ucsc.edu/outreach/balloon/atmos); engineeringtoolbox.com,
standard-atmosphere-d_604, whose altitudes are geometric although its heading says otherwise;
pressure altitudes of standard surfaces (wxonline.info/useful/stndatmo.html).
"""

import math
from collections.abc import Callable

import pytest
from ambiance import Atmosphere

from voxlog.profile.atmosphere import (
    HIGHEST_M,
    LOWEST_M,
    METRES_PER_FOOT,
    geometric_m,
    geopotential_m,
    standard_altitude_m,
    standard_pressure,
    standard_temperature_k,
)
from voxlog.profile.pressure import Pressure


def feet(altitude: float) -> Pressure:
    return standard_pressure(altitude * METRES_PER_FOOT)


@pytest.mark.parametrize(
    ("height_m", "pressure_pa", "temperature_k"),
    [
        (0, 101325.00, 288.15),
        (11_000, 22632.10, 216.65),
        (20_000, 5474.89, 216.65),
        (32_000, 868.02, 228.65),
        (47_000, 110.91, 270.65),
        (51_000, 66.94, 270.65),
        (71_000, 3.96, 214.65),
    ],
)
def test_the_bases_of_the_layers_are_those_of_the_standard(
    height_m: float, pressure_pa: float, temperature_k: float
) -> None:
    # To the list's digits, but for its 22,632.10 Pa: the standard's arithmetic gives 22,632.06.
    assert standard_pressure(height_m).pa == pytest.approx(pressure_pa, rel=2e-6, abs=0.006)
    assert standard_temperature_k(height_m) == pytest.approx(temperature_k, abs=1e-9)


@pytest.mark.parametrize("altitude", range(-4_900, 80_000, 700))
def test_a_reference_library_has_the_same_pressure_and_temperature(altitude: int) -> None:
    """ambiance takes geometric metres; its own table of layer bases is rounded to 1e-5."""
    reference = Atmosphere(geometric_m(altitude))
    assert standard_pressure(altitude).pa == pytest.approx(reference.pressure[0], rel=2e-5)
    assert standard_temperature_k(altitude) == pytest.approx(reference.temperature[0], abs=1e-6)


@pytest.mark.parametrize("altitude", [0, 5_000, 18_000, 25_000, 33_700, 36_000, 40_000, 63_000])
def test_the_published_closed_forms_agree_to_their_digits(altitude: float) -> None:
    if altitude < 36_089:
        published = 101325 * (1 - altitude / 145442) ** 5.255876
    else:
        published = 101325 * 0.223361 * math.exp((36089 - altitude) / 20806)
    assert feet(altitude).pa == pytest.approx(published, rel=2e-5)


@pytest.mark.parametrize(
    ("altitude", "hpa", "mmhg"),
    [
        (0, 1013.250, 760.000),
        (8_000, 752.624, 564.514),
        (10_000, 696.816, 522.655),
        (18_000, 505.998, 379.530),
        # A navy manual's errata moved 379 mmHg from 20,000 ft to where it belongs, 18,000.
        (20_000, 465.632, 349.253),
        (25_000, 376.009, 282.030),
        (34_000, 249.990, 187.508),
        (40_000, 187.539, 140.666),
        (63_000, 62.086, 46.569),
    ],
)
def test_a_chambers_feet_are_pressure_altitudes(altitude: float, hpa: float, mmhg: float) -> None:
    """Computed beforehand with ambiance 1.3.1, fluids 1.3.1 and aerocalc3 0.10, which agree."""
    assert feet(altitude).hpa == pytest.approx(hpa, abs=0.0011)
    assert feet(altitude).mmhg == pytest.approx(mmhg, abs=0.0011)


@pytest.mark.parametrize(
    ("geometric_ft", "psi"), [(10_000, 10.108), (25_000, 5.461), (40_000, 2.730), (60_000, 1.049)]
)
def test_geometric_feet_are_another_height(geometric_ft: float, psi: float) -> None:
    geometric = geometric_ft * METRES_PER_FOOT
    assert standard_pressure(geopotential_m(geometric)).psi == pytest.approx(psi, abs=0.0006)
    # As a pressure altitude the same number gives less: the difference is there to be seen.
    assert standard_pressure(geometric).mmhg < standard_pressure(geopotential_m(geometric)).mmhg


@pytest.mark.parametrize(
    ("hpa", "feet_"), [(850, 4_780), (700, 9_882), (300, 30_066), (250, 33_999), (150, 44_646)]
)
def test_standard_surfaces_lie_at_their_published_altitudes(hpa: float, feet_: float) -> None:
    """The list is rounded to a foot, from metres rounded before that."""
    assert standard_altitude_m(Pressure(hpa * 100)) / METRES_PER_FOOT == pytest.approx(feet_, abs=2)


@pytest.mark.parametrize("altitude", [LOWEST_M, -1.0, 0, 10_999, 11_000, 20_001, 51_000, HIGHEST_M])
def test_altitude_and_pressure_are_inverse(altitude: float) -> None:
    assert standard_altitude_m(standard_pressure(altitude)) == pytest.approx(altitude, abs=1e-6)


@pytest.mark.parametrize("height", [-4_996.1, 0.0, 12_192.0, 80_000.0])
def test_geometric_and_geopotential_are_inverse(height: float) -> None:
    assert geometric_m(geopotential_m(height)) == pytest.approx(height, abs=1e-6)


def test_water_vapour_fills_the_lungs_at_63_000_geometric_feet() -> None:
    """The Armstrong line, 63,000 ft: primidi.com/armstrong_limit."""
    altitude = standard_altitude_m(Pressure(47 * 133.322387415))
    assert geometric_m(altitude) / METRES_PER_FOOT == pytest.approx(63_000, abs=50)


@pytest.mark.parametrize("altitude", [LOWEST_M - 1, HIGHEST_M + 1, math.nan, math.inf])
def test_outside_the_table_nothing_is_made_up(altitude: float) -> None:
    with pytest.raises(ValueError, match="outside the standard atmosphere's table"):
        standard_pressure(altitude)


@pytest.mark.parametrize("pascals", [0.0, 0.5, 2e5, math.nan])
def test_a_pressure_outside_the_table_has_no_altitude(pascals: float) -> None:
    with pytest.raises(ValueError, match="outside the table"):
        standard_altitude_m(Pressure(pascals))


@pytest.mark.parametrize(
    ("convert", "height"), [(geometric_m, 6_356_766.0), (geopotential_m, -6_356_766.0)]
)
def test_heights_that_cannot_be_are_refused(
    convert: Callable[[float], float], height: float
) -> None:
    with pytest.raises(ValueError):
        convert(height)
