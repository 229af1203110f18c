"""Which samples a device lost, by its blocks' arrival alone."""

import random
from collections.abc import Sequence

import pytest

from voxlog.capture.arrival import Arrivals

RATE, SIZE = 16_000, 800
BLOCK_NS = 50_000_000


def arrivals(
    count: int,
    jitter_ms: float = 0,
    drift_ppm: float = 0,
    missing: dict[int, int] | None = None,
    held_up: tuple[int, int] | None = None,
) -> list[int]:
    """When blocks come, in nanoseconds: later by jitter, by blocks missing before one of them.

    held_up: blocks from .. to come together with the last of them.
    """
    lots = random.Random(1)
    clock = 5_000_000_000
    times = []
    for number in range(count):
        blocks = 1 + (missing or {}).get(number, 0)
        clock += round(blocks * BLOCK_NS * (1 + drift_ppm / 1e6))
        times.append(clock + round(lots.uniform(0, jitter_ms) * 1e6))
    if held_up:
        times[held_up[0] : held_up[1]] = [times[held_up[1]]] * (held_up[1] - held_up[0])
    return sorted(times)


def losses(times: Sequence[int]) -> list[tuple[int, int]]:
    """(block number, blocks lost before it, rounded)."""
    placing = Arrivals(RATE)
    placed = [placing.place(SIZE, time) for time in times]
    following = 0
    for first, lost in placed:
        assert first == following + lost
        following = first + SIZE
    return [(n, round(lost / SIZE)) for n, (_, lost) in enumerate(placed) if lost]


@pytest.mark.parametrize(
    ("times", "total"),
    [
        # Nothing is missing, whatever the machine does.
        (arrivals(2000), 0),
        (arrivals(2000, jitter_ms=200), 0),
        (arrivals(72_000, drift_ppm=300), 0),  # an hour
        (arrivals(72_000, drift_ppm=-300), 0),
        (arrivals(2000, jitter_ms=40, held_up=(500, 535)), 0),  # 1.75 s
        # Blocks are missing, and nobody said so.
        (arrivals(2000, missing={500: 4}), 4),
        (arrivals(2000, missing={500: 20}, jitter_ms=40), 20),
        (arrivals(2000, missing={500: 4, 1200: 40}, jitter_ms=40, drift_ppm=100), 44),
        (arrivals(2000, missing={500: 1200}, jitter_ms=40), 1200),  # a minute
    ],
)
def test_what_is_lost_is_found_within_two_windows(times: list[int], total: int) -> None:
    found = losses(times)
    assert sum(lost for _, lost in found) == total
    assert all(500 <= number <= 500 + 81 or 1200 <= number <= 1200 + 81 for number, _ in found)


def test_what_the_device_admits_is_taken_at_once() -> None:
    """And is not found a second time by the clock."""
    times = arrivals(400, jitter_ms=40, missing={100: 10})
    placing = Arrivals(RATE)
    lost = [placing.place(SIZE, t, 10 * SIZE if n == 100 else 0)[1] for n, t in enumerate(times)]
    assert {n: one for n, one in enumerate(lost) if one} == {100: 10 * SIZE}


@pytest.mark.parametrize(("away_s", "lost"), [(0.05, 0), (3.05, 48_000), (600.05, 9_600_000)])
def test_after_a_gap_the_clock_says_how_long_it_was(away_s: float, lost: int) -> None:
    placing = Arrivals(RATE)
    times = arrivals(100)
    for time in times:
        placing.place(SIZE, time)
    back = times[-1] + round(away_s * 1e9)
    assert placing.place_after_gap(SIZE, back) == (100 * SIZE + lost, lost)
    # A device that begins anew is late by another amount, which is no loss.
    after = [placing.place(SIZE, back + 90_000_000 + n * BLOCK_NS) for n in range(1, 200)]
    assert not any(one for _, one in after)


@pytest.mark.parametrize("seconds_before", [1, 5])
def test_blocks_that_came_late_before_the_gap_hide_nothing(seconds_before: int) -> None:
    """The program is held up for two seconds, gets two blocks more, then opens the device again."""
    placing = Arrivals(RATE)
    times = arrivals(seconds_before * 20)
    held_up = times[-1] + 2_000_000_000
    for time in [*times, held_up, held_up + 1000]:
        _, lost = placing.place(SIZE, time)
        assert lost == 0
    _, lost = placing.place_after_gap(SIZE, held_up + 100_000_000)
    assert lost == round(2.1 * RATE) - 3 * SIZE


def test_the_first_block_of_all_has_lost_nothing() -> None:
    assert Arrivals(RATE).place_after_gap(SIZE, 123) == (0, 0)
