import pytest

from voxlog.profile.leg import CALL_TIMING_S, Leg, legs
from voxlog.profile.station import Station

GROUND = Station(0, 60, 0, "ground", "")
FIVE = Station(180, 180, 5000, "up", "up")
TEN = Station(240, 240, 10_000, "up", "up")
TOP = Station(300, 400, 15_000, "top", "up")
BACK = Station(700, 800, 0, "closing", "")
LOW = Station(600, 600, 5000, "down", "down")


def only(*stations: Station, holds: tuple[float, ...] = (), drops: tuple[float, ...] = ()) -> Leg:
    (leg,) = legs(stations, holds, drops)
    return leg


def test_between_two_calls_the_moments_are_those_of_the_calls() -> None:
    leg = only(FIVE, TEN)
    assert (leg.left, leg.reached) == (180, 240)
    assert leg.left_between == (180 - CALL_TIMING_S, 180 + CALL_TIMING_S)
    assert leg.phase == "up"


def test_a_stay_is_left_at_the_rate_of_the_next_leg() -> None:
    """5,000 ft a minute from there: the ground was left a minute before the call."""
    first = legs([GROUND, FIVE, TEN])[0]
    assert first.left == 120
    # At once after the last row, or at twice the rate.
    assert first.left_between == (60, 150)


def test_an_arrival_that_nobody_called_is_at_the_rate_of_the_leg_before() -> None:
    """15,000 to 5,000 ft in 200 s: another 100 s to the ground, whose first row is at 700."""
    last = legs([TOP, LOW, BACK])[1]
    assert last.reached == 700
    assert last.reached_between == (650, 700)
    assert last.phase == "down"


def test_a_departure_is_never_before_the_last_row_of_the_stay() -> None:
    late = Station(178, 178, 5000, "up", "up")
    assert legs([Station(0, 170, 0, "ground", ""), late, TEN])[0].left == 170


@pytest.mark.parametrize(
    ("moment", "low", "high"),
    [
        # Before anybody can have passed 5,000 ft, and after all must have passed 10,000.
        (170, 5000, 5000),
        (250, 10_000, 10_000),
        # Half-way: half of the way, an eighth of it ahead or behind, and 3 s of the call's timing.
        (210, 7500 - 625 - 250, 7500 + 625 + 250),
    ],
)
def test_the_band_of_a_leg(moment: float, low: float, high: float) -> None:
    assert only(FIVE, TEN).band(moment) == pytest.approx((low, high), abs=10)


def test_the_band_goes_down_as_it_goes_up() -> None:
    down = only(Station(180, 180, 10_000, "down", "down"), Station(240, 240, 5000, "down", "down"))
    up_low, up_high = only(FIVE, TEN).band(200)
    low, high = down.band(200)
    assert (15_000 - high, 15_000 - low) == pytest.approx((up_low, up_high))


def test_a_hold_may_have_been_anywhere_on_the_way() -> None:
    leg = only(FIVE, TEN, holds=(200,))
    assert leg.is_box
    assert leg.band(181) == (5000, 10_000)
    assert not only(FIVE, TEN, holds=(300,)).is_box


def test_a_decompression_leaves_at_its_cue_and_may_be_over_at_once() -> None:
    leg = only(TOP, Station(404, 500, 25_000, "high", "high"), drops=(400,))
    assert (leg.left, leg.left_between) == (400, (400, 400))
    assert leg.reached_between == (400, 404)
    assert leg.band(400.1) == (15_000, 25_000)


def test_stations_of_one_level_are_no_leg() -> None:
    assert legs([TOP, Station(500, 500, 15_000, "top", "top")]) == []
    assert legs([]) == []


@pytest.mark.parametrize(
    ("moment", "left", "between"),
    [
        # Known as well as a call is.
        (100, 100, (97, 103)),
        # Not before the last row of the stay.
        (61, 61, (60, 64)),
        # Not of this leg: said while the stay went on, or after the next call.
        (30, 120, (60, 150)),
        (200, 120, (60, 150)),
    ],
)
def test_a_marked_departure_is_when_the_stay_was_left(
    moment: float, left: float, between: tuple[float, float]
) -> None:
    first = legs([GROUND, FIVE, TEN], departures=(moment,))[0]
    assert (first.left, first.left_between) == (left, between)


def test_a_departure_between_two_calls_changes_nothing() -> None:
    assert legs([FIVE, TEN], departures=(200,)) == legs([FIVE, TEN])
