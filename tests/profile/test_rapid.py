import math

import pytest
from scipy.integrate import solve_ivp

from voxlog.profile.atmosphere import METRES_PER_FOOT, standard_pressure
from voxlog.profile.pressure import Pressure
from voxlog.profile.rapid import CHOKED_RATIO, FLIEGNER, ideal_decompression_s

CUBIC_FOOT_M3 = 0.3048**3
SQUARE_INCH_M2 = 0.0254**2


def feet(altitude: float) -> Pressure:
    return standard_pressure(altitude * METRES_PER_FOOT)


def test_fliegners_constant_is_the_published_one() -> None:
    """dm/dt = 0.04042 A p0 / sqrt(T0), SI: geoffreylandis.com/higgins.html."""
    assert pytest.approx(0.04042, abs=2e-5) == FLIEGNER
    assert pytest.approx(1.893, abs=5e-4) == CHOKED_RATIO


@pytest.mark.parametrize(
    ("before_ft", "after_ft", "rule"),
    [
        (8_000, 18_000, 0.154),
        (8_000, 22_000, 0.192),
        (8_000, 25_000, 0.220),
        (10_000, 25_000, 0.203),
        (8_000, 35_000, 0.323),
        (8_000, 40_000, 0.382),
    ],
)
def test_the_rule_of_thumb_is_near(before_ft: float, after_ft: float, rule: float) -> None:
    """t = 0.22 (V ft3 / A in2) sqrt((p1 - p2) / p2), a textbook's form, from memory: within 3 %."""
    seconds = ideal_decompression_s(CUBIC_FOOT_M3, SQUARE_INCH_M2, feet(before_ft), feet(after_ft))
    assert seconds == pytest.approx(rule, rel=0.03)


@pytest.mark.parametrize("after_ft", [12_000, 25_000, 45_000])
def test_a_solver_of_the_outflow_agrees(after_ft: float) -> None:
    """The isothermal balance of mass, written anew and followed in time until 1 Pa is left."""
    before, after = feet(8_000).pa, feet(after_ft).pa
    volume, area, temperature, gas, k = 30.0, 0.2, 288.15, 287.05287, 1.4

    def fall(_: float, state: list[float]) -> list[float]:
        p = state[0]
        ratio = max(after / p, (2 / (k + 1)) ** (k / (k - 1)))
        flow = p * math.sqrt(
            2 * k / ((k - 1) * gas * temperature) * (ratio ** (2 / k) - ratio ** ((k + 1) / k))
        )
        return [-area * flow * gas * temperature / volume]

    def is_level(_: float, state: list[float]) -> float:
        return state[0] - after - 1.0

    is_level.terminal = True
    solved = solve_ivp(
        fall, (0, 60), [before], events=is_level, rtol=1e-9, atol=1e-6, max_step=0.01
    )
    seconds = ideal_decompression_s(volume, area, Pressure(before), Pressure(after))
    assert seconds == pytest.approx(solved.t_events[0][0], rel=0.01)


def test_choked_flow_alone_is_an_exponential() -> None:
    """1,000 ft3 through 1 ft2 at 288.15 K: time constant 1.548 s while choked, by hand."""
    volume, area = 1000 * CUBIC_FOOT_M3, 144 * SQUARE_INCH_M2
    outside = Pressure(1_000.0)
    four, two = (Pressure(1_000.0 * CHOKED_RATIO * each) for each in (4, 2))
    longer = ideal_decompression_s(volume, area, four, outside)
    shorter = ideal_decompression_s(volume, area, two, outside)
    assert (longer - shorter) / math.log(2) == pytest.approx(1.548, abs=0.001)


def test_no_difference_takes_no_time() -> None:
    assert ideal_decompression_s(10, 1, feet(8_000), feet(8_000)) == 0


@pytest.mark.parametrize(
    ("volume", "orifice", "before", "after", "temperature"),
    [
        (0, 1, 2e4, 1e4, 288),
        (1, 0, 2e4, 1e4, 288),
        (1, 1, 1e4, 2e4, 288),
        (1, 1, 2e4, 0, 288),
        (1, 1, 2e4, 1e4, 0),
    ],
)
def test_what_cannot_be_is_refused(
    volume: float, orifice: float, before: float, after: float, temperature: float
) -> None:
    with pytest.raises(ValueError):
        ideal_decompression_s(volume, orifice, Pressure(before), Pressure(after), temperature)
