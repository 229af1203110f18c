import pytest

from tests.profile.simulated import sheet, simulate
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
