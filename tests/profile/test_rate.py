import math

import pytest

from tests.profile.rows import call, done
from tests.profile.simulated import SHEET_TEXT
from voxlog.follow.event import Event
from voxlog.profile.estimate import altitude_profile
from voxlog.profile.rate import Against, LegRate, leg_rates
from voxlog.sheet.load import read_sheet


def rates(*rows: Event, limits: str = "{min: 2000, max: 5000}") -> tuple[LegRate, ...]:
    sheet = read_sheet(
        SHEET_TEXT.replace("rate: {min: 2000, max: 5000}", limits and f"rate: {limits}")
    )
    return leg_rates(sheet, altitude_profile(sheet, rows))


def climb(seconds: float) -> tuple[Event, Event]:
    return call(100, 10_000, "up", "climb"), call(100 + seconds, 15_000, "up", "climb")


@pytest.mark.parametrize(
    ("seconds", "limits", "expected"),
    [
        # 3,000 ft a minute; the two calls' timing leaves 2,880 to 3,130.
        (100, "{min: 2000, max: 5000}", "within"),
        (100, "{max: 5000}", "within"),
        (100, "{min: 2000}", "within"),
        (100, "{max: 2500}", "above"),
        (100, "{min: 3500}", "below"),
        # A limit inside the uncertainty.
        (100, "{max: 3000}", "cannot tell"),
        (100, "{min: 3000}", "cannot tell"),
        (100, "", "no limits"),
    ],
)
def test_a_rate_against_its_limits(seconds: float, limits: str, expected: Against) -> None:
    (each,) = rates(*climb(seconds), limits=limits)
    assert each.against == expected
    assert each.rate == pytest.approx(3000)
    assert (each.slowest, each.fastest) == pytest.approx((2878, 3133), abs=1)


def test_a_descent_is_a_positive_rate() -> None:
    rows = call(100, 20_000, "down", "sink"), call(160, 15_000, "down", "sink")
    (each,) = rates(*rows)
    assert each.rate == pytest.approx(5000)
    assert each.limits is not None
    assert each.limits.max == 6000


def test_calls_at_once_have_no_fastest_rate() -> None:
    (each,) = rates(*climb(3))
    assert math.isinf(each.fastest)


def test_four_thousand_a_minute_to_25_000_is_six_minutes_and_a_quarter() -> None:
    """The profile of a training run as its students tell it (jetcareers.com, post 442686)."""
    rows = call(0, 0, "up", "climb"), call(375, 25_000, "up", "level-top")
    (each,) = rates(*rows)
    assert each.rate == pytest.approx(4000)


def test_a_hold_on_the_way_makes_no_rate() -> None:
    hold = Event(150, 152, "hold", "up")
    assert rates(*climb(100), hold) == ()


def test_leaving_the_ground_at_an_unknown_moment_is_a_wide_range() -> None:
    ground = done((0, "ground", "1"), (60, "ground", "2"))
    rows = (*ground, call(180, 5000, "up-low", "low"), call(225, 8000, "up-low", "level-low"))
    first, _ = rates(*rows)
    # At the rate of the next leg, and anything from leaving after the last row to twice that.
    assert first.rate == pytest.approx(4000)
    assert first.slowest < 3000
    assert first.fastest > 7500
