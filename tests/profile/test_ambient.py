import pytest

from voxlog.profile.ambient import ambient_pressure, is_altitude, is_depth
from voxlog.profile.pressure import Pressure


@pytest.mark.parametrize(
    ("level", "unit", "hpa"),
    [
        (25_000, "ft", 376.009),
        (7_620, "m", 376.009),
        (7.62, "km", 376.009),
        # A metre of sea water is a tenth of a bar.
        (0, "msw", 1013.25),
        (14, "msw", 2413.25),
        # One fsw is 0.030643 bar, 0.44444 psi (US Navy Diving Manual, as quoted in "Metre sea
        # water", wikimili.com).
        (1, "fsw", 1013.25 + 30.643),
        (45, "fsw", 1013.25 + 45 * 30.643),
    ],
)
def test_a_level_has_the_pressure_of_its_unit(level: float, unit: str, hpa: float) -> None:
    pressure = ambient_pressure(level, unit)
    assert pressure is not None
    assert pressure.hpa == pytest.approx(hpa, abs=0.02)


def test_33_fsw_are_nearly_two_atmospheres() -> None:
    pressure = ambient_pressure(33, "fsw")
    assert pressure is not None
    assert pressure.atmospheres == pytest.approx(2, abs=0.003)


def test_a_depth_stands_on_the_surface_it_has() -> None:
    high = ambient_pressure(10, "msw", surface=Pressure(84_000))
    assert high == Pressure(184_000)


@pytest.mark.parametrize(
    ("level", "unit"), [(300_000, "ft"), (-20_000, "ft"), (-1, "msw"), (5, "g"), (5, "")]
)
def test_what_names_no_pressure_gives_none(level: float, unit: str) -> None:
    assert ambient_pressure(level, unit) is None


@pytest.mark.parametrize(
    ("unit", "altitude", "depth"),
    [("ft", True, False), ("m", True, False), ("msw", False, True), ("psi", False, False)],
)
def test_units_are_altitudes_or_depths_or_neither(unit: str, altitude: bool, depth: bool) -> None:
    assert is_altitude(unit) == altitude
    assert is_depth(unit) == depth
