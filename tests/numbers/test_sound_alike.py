"""Values that sound alike."""

import math

import pytest

from voxlog.numbers.quantity import Quantity
from voxlog.numbers.sound_alike import sound_alikes, word_distance


@pytest.mark.parametrize(
    ("teen", "ten"),
    [(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)],
)
def test_teens_and_tens_are_each_other_s_nearest(teen: int, ten: int) -> None:
    assert sound_alikes(teen, 10, 100, 1)[0] == ten
    assert sound_alikes(ten, 10, 100, 1)[0] == teen


@pytest.mark.parametrize(
    ("value", "low", "high", "step", "quantity", "among_them"),
    [
        # five and nine: the reason for "niner" (ICAO Annex 10 Volume II 5.2.1.4.3.1)
        (95, 40, 100, 1, "number", {99, 91, 55}),
        (1550, 1000, 2500, 50, "number", {1950}),
        (15000, 0, 60000, 1000, "altitude", {19000, 50000}),
        (25500, 0, 60000, 100, "altitude", {29500, 25900, 21500}),
        # neighbours with the same tens
        (72, 40, 100, 1, "number", {70, 71, 74, 62}),
        # "to five thousand", "two five thousand"; "for five thousand"
        (5000, 0, 60000, 1000, "altitude", {25000, 45000}),
        (25000, 0, 60000, 1000, "altitude", {5000}),
        (5.5, 1, 6, 0.1, "number", {5.9, 5.4}),
        (30, 0, 240, 10, "duration", {40, 20}),
    ],
)
def test_easily_misheard(
    value: float,
    low: float,
    high: float,
    step: float,
    quantity: Quantity,
    among_them: set[float],
) -> None:
    assert among_them <= set(sound_alikes(value, low, high, step, quantity))


@pytest.mark.parametrize(
    ("value", "low", "high", "step"),
    [(72, 40, 100, 1), (1850, 1000, 2500, 50), (5.5, 1, 6, 0.1), (500, 0, 60, 1)],
)
def test_only_other_values_on_the_grid(value: float, low: float, high: float, step: float) -> None:
    for other in sound_alikes(value, low, high, step):
        assert other != value
        assert low <= other <= high
        assert (other - low) / step == pytest.approx(round((other - low) / step))


def test_nearest_first_and_always_the_same() -> None:
    assert sound_alikes(15, 0, 100, 1)[:4] == (50.0, 16.0, 14.0, 13.0)
    assert sound_alikes(15, 0, 100, 1) == sound_alikes(15.0, 0, 100, 1)


@pytest.mark.parametrize(
    ("value", "low", "high", "step"),
    [(5, 10, 0, 1), (5, 0, 10, 0), (5, 0, 10, -1), (5, 0, math.inf, 1), (math.nan, 0, 10, 1)],
)
def test_no_range_no_answer(value: float, low: float, high: float, step: float) -> None:
    with pytest.raises(ValueError):
        sound_alikes(value, low, high, step)


def test_word_distance_is_symmetric_and_none_for_the_same_word() -> None:
    assert word_distance("five", "five") == 0
    assert word_distance("five", "nine") == word_distance("nine", "five") == 0.5
    assert word_distance("thirteen", "thirty") == pytest.approx(1 / 7)  # one consonant of weight 7
