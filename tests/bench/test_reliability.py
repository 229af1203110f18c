"""The measures of calibration on rows whose answer can be worked out by hand."""

import pytest

from tests.bench.reliability import (
    Judged,
    bins_of,
    brier,
    chance_error,
    expected_error,
    judge,
)
from voxlog.follow.event import Event, Flag, Status


def rows(p: float, right: int, wrong: int) -> list[Judged]:
    return [
        *[Judged(("item", "all"), p, is_right=True)] * right,
        *[Judged(("item", "all"), p, is_right=False)] * wrong,
    ]


@pytest.mark.parametrize(
    ("judged", "ece", "squared"),
    [
        (rows(1.0, 3, 0), 0.0, 0.0),
        (rows(1.0, 0, 3), 1.0, 1.0),
        (rows(0.75, 3, 1), 0.0, (3 * 0.0625 + 0.5625) / 4),
        (rows(0.5, 1, 0) + rows(0.9, 0, 3), (0.5 + 3 * 0.9) / 4, (0.25 + 3 * 0.81) / 4),
    ],
)
def test_calibration_error_and_brier_score(
    judged: list[Judged], ece: float, squared: float
) -> None:
    assert expected_error(judged) == pytest.approx(ece)
    assert brier(judged) == pytest.approx(squared)


@pytest.mark.parametrize(
    ("judged", "chance"),
    [
        (rows(1.0, 3, 0), 0.0),
        # One row is off by the half, whichever it is; of many, sqrt(2 p (1 - p) / (pi n)).
        (rows(0.5, 1, 0), 0.5),
        (rows(0.5, 100, 0), 0.0399),
    ],
)
def test_calibration_error_by_chance(judged: list[Judged], chance: float) -> None:
    assert chance_error(judged) == pytest.approx(chance, rel=0.1)


@pytest.mark.parametrize(("p", "place"), [(0.0, 0), (0.0999, 0), (0.1, 1), (0.95, 9), (1.0, 9)])
def test_a_row_is_in_one_bin(p: float, place: int) -> None:
    assert [len(each.rows) for each in bins_of(rows(p, 1, 0))] == [n == place for n in range(10)]


def item(
    status: Status = "confirmed", flags: tuple[Flag, ...] = (), value: float | None = None
) -> Event:
    return Event(1.0, 2.0, "item", item="1", status=status, flags=flags, value=value, p=0.8)


@pytest.mark.parametrize(
    ("logged", "true", "is_right"),
    [
        (item(), item(), True),
        (item(flags=("uncertain",)), item(), True),
        (item(flags=("late",)), item(), False),
        (item("negative"), item(), False),
        (item(value=5), item(value=6), False),
        (item(), None, False),
    ],
)
def test_a_row_is_right_when_all_of_it_is(
    logged: Event, true: Event | None, is_right: bool
) -> None:
    (judged,) = judge([logged], [true] if true else [])
    assert (judged.p, judged.is_right) == (0.8, is_right)


@pytest.mark.parametrize(
    ("logged", "groups"),
    [
        (item(), ("item", "all")),
        (item(value=5), ("item", "values", "all")),
        (item("skipped"), ("item", "findings", "all")),
        (item(flags=("off-limit",), value=5), ("item", "values", "findings", "all")),
    ],
)
def test_a_row_is_counted_in_every_group_that_it_is_in(
    logged: Event, groups: tuple[str, ...]
) -> None:
    assert [one.groups for one in judge([logged], [])] == [groups]
