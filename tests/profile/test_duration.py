import pytest

from tests.profile.rows import call, done
from tests.profile.simulated import sheet, simulate
from voxlog.profile.duration import time_above
from voxlog.profile.estimate import altitude_profile

# 0 ft until 130 s, 8,000 ft from 210 s to 500 s, where the log ends.
PROFILE = altitude_profile(
    sheet(),
    [
        *done((0, "ground", "1"), (60, "ground", "2")),
        call(180, 5000, "up-low", "low"),
        call(210, 8000, "up-low", "level-low"),
        *done((300, "ear-check", "3"), (497, "ear-check", "4")),
    ],
)


@pytest.mark.parametrize(
    ("level", "seconds"),
    [
        (0, 500),
        (2500, 345),
        (5000, 320),
        # A level that is kept counts while it is kept.
        (8000, 290),
        (8001, 0),
        (-100, 500),
    ],
)
def test_time_at_or_above_a_level(level: float, seconds: float) -> None:
    above = time_above(PROFILE, level)
    assert above.seconds == pytest.approx(seconds, abs=0.1)
    assert above.shortest <= above.seconds <= above.longest


def test_what_a_call_may_be_off_is_in_the_range() -> None:
    above = time_above(PROFILE, 8000)
    assert above.shortest == pytest.approx(287, abs=0.5)
    assert above.longest == pytest.approx(293, abs=0.5)


@pytest.mark.parametrize("level", [3000, 10_000, 18_000, 24_000])
def test_the_range_holds_the_truth_in_simulated_runs(level: float) -> None:
    inside = 0
    for seed in range(1000, 1040):
        run = simulate(seed)
        above = time_above(altitude_profile(sheet(), run.events), level)
        truth = sum(run.level(t) >= level for t in range(int(run.seconds)))
        inside += above.shortest <= truth <= above.longest
    assert inside >= 38


def test_no_profile_is_no_time() -> None:
    above = time_above(altitude_profile(sheet(), []), 5000)
    assert (above.seconds, above.shortest, above.longest) == (0, 0, 0)
