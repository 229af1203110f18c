import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.debrief.axis import (
    Scale,
    Tick,
    placed_times,
    placed_values,
    stacked,
    time_ticks,
    value_ticks,
)


@pytest.mark.parametrize(
    ("low", "high", "most", "ticks"),
    [
        (0, 25_000, 6, [0, 5000, 10_000, 15_000, 20_000, 25_000]),
        (65, 100, 4, [60, 70, 80, 90, 100]),
        (0.2, 0.9, 4, [0.2, 0.4, 0.6, 0.8, 1.0]),
        (5, 5, 4, [5, 5.0000000005]),
        (-3, 14, 6, [-5, 0, 5, 10, 15]),
        (0, 2.001, 2, [0, 2, 4]),  # a little more than two steps of 1 hold
    ],
)
def test_value_ticks_are_round(low: float, high: float, most: int, ticks: list[float]) -> None:
    assert value_ticks(low, high, most) == pytest.approx(ticks)


@given(st.floats(-1e5, 1e5), st.floats(0.01, 1e5), st.integers(2, 10))
def test_value_ticks_enclose_what_is_shown(low: float, span: float, most: int) -> None:
    ticks = value_ticks(low, low + span, most)
    assert ticks == sorted(ticks)
    assert ticks[0] <= low + span * 1e-6
    assert ticks[-1] >= low + span - span * 1e-6
    assert 2 <= len(ticks) <= most + 2


@pytest.mark.parametrize(
    ("seconds", "last", "count"),
    [(219, 210, 8), (756, 720, 7), (7200, 7200, 13), (1, 1, 2), (0.5, 0, 1), (100_000, 86_400, 7)],
)
def test_time_ticks_begin_at_nothing_and_stay_few(seconds: float, last: float, count: int) -> None:
    ticks = time_ticks(seconds, 12)
    assert (ticks[0], ticks[-1], len(ticks)) == (0, last, count)


def test_a_scale_may_run_downwards() -> None:
    up = Scale(0, 100, 92, 14)
    assert (up(0), up(100), up(50)) == (92, 14, 53)


def test_ticks_say_minutes_and_thousands() -> None:
    assert placed_times(Scale(0, 7200, 0, 720))[1] == Tick(60.0, "10:00")
    assert placed_values(Scale(0, 20_000, 0, 100), [5000.0]) == (Tick(25.0, "5,000"),)


@pytest.mark.parametrize(
    ("places", "lines"),
    [
        ([], []),
        ([(0, 10), (10, 20)], [0, 0]),
        ([(0, 10), (9, 20), (18, 30)], [0, 1, 0]),
        ([(0, 10), (1, 11), (2, 12), (10, 20)], [0, 1, 2, 0]),
    ],
)
def test_labels_are_stacked(places: list[tuple[float, float]], lines: list[int]) -> None:
    assert stacked(places) == lines
