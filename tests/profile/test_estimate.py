import random
from itertools import pairwise

import pytest

from tests.profile.rows import call, done
from tests.profile.simulated import sheet, simulate
from voxlog.follow.event import Event
from voxlog.profile.estimate import altitude_profile


@pytest.fixture(scope="module")
def shares() -> dict[str, float]:
    """Over 40 simulated runs, a moment a second: how often the truth is inside, and how near."""
    counts = {"all": 0, "inside": 0, "moving": 0, "moving inside": 0}
    widths, errors = 0.0, 0.0
    for seed in range(1000, 1040):
        run = simulate(seed)
        profile = altitude_profile(sheet(), run.events)
        for t in range(int(profile.points[0].t) + 1, int(profile.points[-1].t)):
            point, level = profile.at(t), run.level(t)
            assert point is not None
            is_inside = point.low <= level <= point.high
            is_moving = not any(begin <= t <= end for begin, end, _ in run.stays)
            counts["all"] += 1
            counts["inside"] += is_inside
            counts["moving"] += is_moving
            counts["moving inside"] += is_moving and is_inside
            widths += (point.high - point.low) * is_moving
            errors += abs(point.level - level) * is_moving
    return {
        "inside": counts["inside"] / counts["all"],
        "moving inside": counts["moving inside"] / counts["moving"],
        "width": widths / counts["moving"],
        "error": errors / counts["moving"],
    }


def test_the_band_holds_the_truth_19_times_in_20(shares: dict[str, float]) -> None:
    assert shares["inside"] >= 0.95
    assert shares["moving inside"] >= 0.95


def test_the_band_is_narrow_enough_to_say_something(shares: dict[str, float]) -> None:
    # Calls are 3,000 to 5,000 ft apart: a band of that width would say nothing.
    assert shares["width"] < 2600
    assert shares["error"] < 400


def test_calls_that_were_not_heard_make_the_band_wider_and_not_wrong() -> None:
    """One in five is missing."""
    inside = total = 0
    for seed in range(1000, 1015):
        run, lots = simulate(seed), random.Random(seed)
        rows = [row for row in run.events if row.kind != "callout" or lots.random() >= 0.2]
        profile = altitude_profile(sheet(), rows)
        for t in range(int(profile.points[0].t) + 1, int(profile.points[-1].t)):
            point = profile.at(t)
            assert point is not None
            total += 1
            inside += point.low <= run.level(t) <= point.high
    assert inside >= 0.95 * total


def test_the_time_at_a_level_is_within_what_is_said_of_it() -> None:
    inside = total = 0
    for seed in range(1000, 1040):
        run = simulate(seed)
        stays = altitude_profile(sheet(), run.events).stays
        assert [stay.level for stay in stays] == [0, 8000, 25_000, 0]
        for stay, (begin, end, level) in zip(stays, run.stays, strict=True):
            if level:
                shortest, longest = stay.seconds_between
                total += 1
                inside += shortest <= end - begin <= longest
    assert inside >= 0.95 * total


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_points_are_in_order_and_low_is_never_above_high(seed: int) -> None:
    points = altitude_profile(sheet(), simulate(seed).events).points
    assert all(one.t < other.t for one, other in pairwise(points))
    assert all(0 <= one.low <= one.level <= one.high for one in points)


def test_the_order_of_the_rows_makes_no_difference() -> None:
    events = simulate(4).events
    assert altitude_profile(sheet(), reversed(events)) == altitude_profile(sheet(), events)


def test_a_log_without_levels_has_a_profile_without_points() -> None:
    profile = altitude_profile(sheet(), [])
    assert (profile.unit, profile.points, profile.stays, profile.legs) == ("ft", (), (), ())
    assert profile.at(0) is None


def test_at_gives_the_lines_between_the_points() -> None:
    profile = altitude_profile(
        sheet(),
        [
            *done((0, "ground", "1"), (60, "ground", "2")),
            call(180, 5000, "up-low", "low"),
            call(210, 8000, "up-low", "level-low"),
        ],
    )
    level = [profile.at(t) for t in (30, 155, 195, 210)]
    # 100 ft a second from the second call back: the ground was left at 130.
    assert [point.level for point in level if point] == pytest.approx([0, 2500, 6500, 8000])
    assert profile.at(-1) is None
    assert profile.at(211) is None


def test_one_call_is_a_profile_of_one_point() -> None:
    profile = altitude_profile(sheet(), [call(180, 5000, "up-low", "low")])
    assert [(point.t, point.level) for point in profile.points] == [(180, 5000)]
    assert profile.at(180) == profile.points[0]
    assert not profile.stays


def test_a_last_stay_may_have_lasted_until_the_log_ends() -> None:
    talk = Event(200, 260, "note", "ground")
    (stay,) = altitude_profile(
        sheet(), [*done((0, "ground", "1"), (60, "ground", "2")), talk]
    ).stays
    assert (stay.until, stay.until_between) == (63, (63, 260))
