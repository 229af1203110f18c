"""Blocks that follow on what a run recorded before it was broken off."""

from collections.abc import Iterator

import numpy as np
import pytest

from voxlog.capture.block import Block
from voxlog.capture.clock import AudioClock, ClockMark, on_one_clock
from voxlog.capture.going_on import GoingOn

RATE = 16_000
SIZE = RATE // 10
WALL_NS = 1_795_600_000_000_000_000
SECOND_NS = 1_000_000_000


class Played:
    """A device whose first block is whole `wall_s` after the run's start, by the system's clock."""

    channels, rate, name, fault = 1, RATE, "played", ""

    def __init__(self, wall_s: float) -> None:
        self._wall_ns = WALL_NS + round(wall_s * SECOND_NS)

    def blocks(self) -> Iterator[Block]:
        for number, lost in enumerate((0, 0, 500)):
            first = number * SIZE + lost
            clock_ns = (number + 1) * SECOND_NS // 10
            samples = np.zeros((1, SIZE), np.int16)
            yield Block(samples, first, clock_ns, self._wall_ns + clock_ns - SECOND_NS // 10, lost)

    def stop(self) -> None: ...


LAST = ClockMark(RATE * 60, 700 * SECOND_NS, WALL_NS + 60 * SECOND_NS)
HELD = RATE * 70


@pytest.mark.parametrize(
    ("last", "wall_s", "missing"),
    [
        (LAST, 90.1, 20 * RATE),
        (LAST, 3600.1, 3530 * RATE),
        (LAST, 70.1, 0),
        (LAST, 69.9, 0),  # blocks and marks are some hundredths of a second late
        (LAST, 40.0, None),  # the clock was set back
        (LAST, 90_000.0, None),  # or forward, by a day
        (None, 90.1, None),
    ],
)
def test_the_gap_is_what_the_systems_clock_says(
    last: ClockMark | None, wall_s: float, missing: int | None
) -> None:
    told: list[int | None] = []
    source = GoingOn(Played(wall_s), last, HELD, told.append)
    blocks = list(source.blocks())
    assert told == [missing]
    start = HELD + (missing or 0)
    assert [block.first for block in blocks] == [start, start + SIZE, start + 2 * SIZE + 500]
    assert [block.lost for block in blocks] == [missing or 0, 0, 500]
    # The device's own clock is what latencies and the tool's own voice are told by.
    assert blocks[0].monotonic_ns == SECOND_NS // 10


def test_dates_go_on_over_a_machine_that_was_started_anew() -> None:
    """The monotonic clock began again. The audio's runs 30 ppm slow, but not while it stood."""

    def marks(first: int, wall_s: float, since_boot_s: float) -> list[ClockMark]:
        return [
            ClockMark(
                first + round(60 * n * RATE / (1 + 30e-6)),
                round((since_boot_s + 60 * n) * 1e9),
                WALL_NS + round((wall_s + 60 * n) * 1e9),
            )
            for n in range(10)
        ]

    before = marks(0, 0, 5000)
    after = marks(before[-1].sample + 400 * RATE, 940, 30)
    clock = AudioClock(RATE, on_one_clock([before, [], after], RATE))
    assert 20 < clock.drift_ppm < 30
    assert clock.steps == ()
    for mark in (*before, *after):
        # Two neighbours on either side are smoothed over, which costs something at the gap.
        assert clock.utc_of(mark.sample).timestamp() == pytest.approx(mark.wall_ns / 1e9, abs=0.01)


def test_a_clock_that_was_set_meanwhile_is_a_step() -> None:
    """The audio went on without a gap, since nobody knows how long it was."""
    before = ClockMark(60 * RATE, 700 * SECOND_NS, WALL_NS)
    after = ClockMark(61 * RATE, 5 * SECOND_NS, WALL_NS - 3600 * SECOND_NS)
    [step] = AudioClock(RATE, on_one_clock([[before], [after]], RATE)).steps
    assert step.seconds == pytest.approx(-3601)
