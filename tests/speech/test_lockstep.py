"""Searches side by side: what each is given, in which rounds, and what happens when one fails."""

import time
from collections.abc import Callable, Sequence

import pytest

from voxlog.speech.lockstep import in_lockstep, take_part


class Squares:
    """Work that keeps what it was asked, round by round."""

    def __init__(self) -> None:
        self.rounds: list[list[int]] = []

    def __call__(self, asked: Sequence[int]) -> list[int]:
        self.rounds.append([*asked])
        return [number * number for number in asked]


def asking(work: Squares, numbers: Sequence[int], pause: float = 0.0) -> Callable[[], list[int]]:
    """A member that asks for one number after the other, `pause` seconds before each."""

    def call() -> list[int]:
        found = []
        for number in numbers:
            time.sleep(pause)
            found.append(take_part(work, number))
        return found

    return call


def test_alone_nothing_waits() -> None:
    work = Squares()
    assert [take_part(work, 3), take_part(work, 4)] == [9, 16]
    assert work.rounds == [[3], [4]]


@pytest.mark.parametrize("slow", [0, 1, 2])
@pytest.mark.parametrize(
    ("asked", "rounds"),
    [
        ([[1, 2], [3, 4], [5, 6]], [[1, 3, 5], [2, 4, 6]]),
        ([[1], [2, 3, 4], [5, 6]], [[1, 2, 5], [3, 6], [4]]),
        ([[], [1], [2]], [[1, 2]]),
        ([[1, 2], [], []], [[1], [2]]),
    ],
)
def test_rounds_follow_from_what_is_asked_and_not_from_who_is_quick(
    slow: int, asked: list[list[int]], rounds: list[list[int]]
) -> None:
    work = Squares()
    calls = [asking(work, one, 0.01 * (n == slow)) for n, one in enumerate(asked)]
    assert in_lockstep(calls) == [[n * n for n in one] for one in asked]
    assert work.rounds == rounds


def test_different_work_of_a_round_is_done_apart() -> None:
    one, other = Squares(), Squares()
    assert in_lockstep([asking(one, [1]), asking(other, [2]), asking(one, [3])]) == [[1], [4], [9]]
    assert (one.rounds, other.rounds) == ([[1, 3]], [[2]])


def test_a_fault_in_the_work_reaches_the_caller_and_nobody_waits_for_ever() -> None:
    def fails(asked: Sequence[int]) -> list[int]:
        raise ArithmeticError("no")

    with pytest.raises(ArithmeticError):
        in_lockstep([lambda: take_part(fails, 1), lambda: take_part(fails, 2)])


def test_a_member_that_fails_leaves_and_the_others_go_on() -> None:
    work, done = Squares(), []

    def breaks() -> int:
        take_part(work, 1)
        raise KeyError("broken")

    def goes_on() -> int:
        done.append([take_part(work, number) for number in (2, 3)])
        return 0

    with pytest.raises(KeyError):
        in_lockstep([breaks, goes_on])
    assert done == [[4, 9]]
    assert work.rounds == [[1, 2], [3]]
