"""The table of confusable readings counts what it says."""

import pytest

from samples_synthetic.voices import REPORT
from tests.bench.confusable import ALIKE, Reading, Said, heard_of, numbers_of
from voxlog.follow.event import Event


def row(start: float, end: float, value: float, *flags: str) -> Event:
    return Event(start, end, "reading", value=value, flags=flags)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("log", "expected"),
    [
        ([row(1.1, 2.1, 15)], Reading(15, 15)),
        ([row(1.1, 2.1, 50)], Reading(15, 50)),
        ([row(1.1, 2.1, 50, "uncertain")], Reading(15, 50, is_uncertain=True)),
        ([row(1.9, 3.0, 50), row(1.0, 1.8, 15)], Reading(15, 15)),
        ([row(2.0, 3.0, 15)], Reading(15, None)),
        ([Event(1.0, 2.0, "note", value=15)], Reading(15, None)),
        ([], Reading(15, None)),
    ],
)
def test_a_number_is_the_reading_of_its_time(log: list[Event], expected: Reading) -> None:
    assert heard_of([Said(15, 1.0, 2.0)], log) == [expected]


@pytest.mark.parametrize(
    ("reading", "is_right", "is_wrong_and_sure"),
    [
        (Reading(15, 15), True, False),
        (Reading(15, 15, is_uncertain=True), True, False),
        (Reading(15, 50), False, True),
        (Reading(15, 50, is_uncertain=True), False, False),
        (Reading(15, None), False, False),
    ],
)
def test_what_counts_as_right_and_as_wrong_and_sure(
    reading: Reading, is_right: bool, is_wrong_and_sure: bool
) -> None:
    assert (reading.is_right, reading.is_wrong_and_sure) == (is_right, is_wrong_and_sure)


def test_every_number_is_said_by_half_the_voices_and_the_pairs_by_all() -> None:
    said = [numbers_of(index) for index in range(len(REPORT))]
    alike = {number for pair in ALIKE for number in pair}
    for number in (5, 9, *range(10, 100)):
        times = sum(each.count(number) for each in said)
        assert times == (len(REPORT) if number in alike else len(REPORT) // 2), number
