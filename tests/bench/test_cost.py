"""The stopwatch by a clock that is set by hand, and the table's sums."""

import threading
from collections.abc import Iterator

import pytest
from greenlet import getcurrent, greenlet
from rich.console import Console

from tests.bench.cost import STAGES, Stopwatch, table_of


class HandClock:
    """Goes on when it is told to."""

    def __init__(self) -> None:
        self.at = 0.0

    def __call__(self) -> float:
        return self.at

    def work(self, seconds: float) -> float:
        self.at += seconds
        return seconds


def test_what_is_done_within_a_stage_for_another_is_the_others_alone() -> None:
    clock = HandClock()
    watch = Stopwatch(clock, lambda: 0.0)
    inner = watch.around("inner", clock.work)

    def outer() -> None:
        clock.work(1)
        inner(10)
        clock.work(2)
        watch.around("middle", lambda: [clock.work(100), inner(1000)])()

    watch.around("outer", outer)()
    watch.around("outer", clock.work)(20)
    assert watch.seconds == {"outer": 23, "middle": 100, "inner": 1010}


def test_an_iterator_is_timed_and_not_what_is_made_of_its_items() -> None:
    clock = HandClock()
    watch = Stopwatch(clock, lambda: 0.0)

    def items(count: int) -> Iterator[float]:
        for _ in range(count):
            yield clock.work(1)
        clock.work(5)

    for item in watch.around_each("items", items)(3):
        clock.work(100 * item)
    assert watch.seconds == {"items": 8}


def test_threads_that_do_no_python_are_counted_to_who_called_them() -> None:
    clock, others = HandClock(), HandClock()
    watch = Stopwatch(clock, others)
    asks = watch.around("asks", lambda: (clock.work(1), others.work(7)), native=True)
    watch.around("outer", asks)()
    watch.around("alone", lambda: others.work(50))()
    assert watch.seconds == {"asks": 8, "outer": 0, "alone": 0}


def test_a_fault_is_timed_and_goes_on() -> None:
    clock = HandClock()
    watch = Stopwatch(clock, lambda: 0.0)

    def fails() -> None:
        clock.work(3)
        raise ArithmeticError

    with pytest.raises(ArithmeticError):
        watch.around("outer", watch.around("fails", fails))()
    assert watch.seconds == {"outer": 0, "fails": 3}


def test_each_thread_has_stages_of_its_own() -> None:
    clock = HandClock()
    watch = Stopwatch(clock, lambda: 0.0)

    def outer() -> None:
        thread = threading.Thread(target=watch.around("elsewhere", lambda: None))
        thread.start()
        thread.join()
        clock.work(4)

    watch.around("outer", outer)()
    assert watch.seconds == {"outer": 4, "elsewhere": 0}


def test_shares_are_of_all_and_multiples_of_the_encoder() -> None:
    console = Console(width=120, record=True)
    console.print(table_of({"one run": {"encode": 2.0, "decode trees": 5.0, "rest": 1.0}}))
    rows = {
        line.strip().rsplit(maxsplit=3)[0]: line.split()[-3:]
        for line in console.export_text().splitlines()
        if line.rstrip().endswith(tuple("0123456789"))
    }
    assert {*STAGES, "all"} <= {*rows}
    assert rows["encode"] == ["2.00", "25%", "1.0"]
    assert rows["decode trees"] == ["5.00", "62%", "2.5"]
    assert rows["follow"] == ["0.00", "0%", "0.0"]
    assert rows["all"] == ["8.00", "100%", "4.0"]


def test_turns_taken_on_one_thread_are_timed_apart() -> None:
    """Each stops in the middle of its stage, where the other goes on."""
    clock = HandClock()
    watch = Stopwatch(clock, lambda: 0.0)
    back = getcurrent()

    def stops(seconds: float) -> None:
        clock.work(seconds)
        back.switch()
        clock.work(10 * seconds)

    turns = [greenlet(watch.around(f"stage {n}", stops)) for n in (1, 2)]
    for turn, seconds in zip(turns, (1.0, 2.0), strict=True):
        turn.switch(seconds)
    for turn in turns:
        clock.work(1000)
        turn.switch()
    assert watch.seconds == {"stage 1": 11, "stage 2": 22}
