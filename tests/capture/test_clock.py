"""Three clocks of which one drifts, one is set to another time, and all are read late."""

import random
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from voxlog.capture.block import Block
from voxlog.capture.clock import AudioClock, ClockMark, ClockStep, MarkTaker

RATE = 16_000
START = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
START_NS = round(START.timestamp() * 1e9)
TWO_HOURS = 120


def marks(
    minutes: int,
    drift_ppm: float = 0,
    jitter_ms: float = 0,
    steps: dict[int, float] | None = None,
) -> list[ClockMark]:
    """A mark a minute; the audio's clock slow by `drift_ppm`, the wall clock set now and then."""
    lots = random.Random(2)
    found, wall_off = [], 0.0
    for minute in range(minutes + 1):
        wall_off += (steps or {}).get(minute, 0.0)
        late_s = lots.uniform(0, jitter_ms) / 1000 if minute else 0.0
        true_s = minute * 60 * (1 + drift_ppm / 1e6) + late_s
        found.append(
            ClockMark(
                minute * 60 * RATE,
                7_000_000_000 + round(true_s * 1e9),
                START_NS + round((true_s + wall_off) * 1e9),
            )
        )
    return found


@pytest.mark.parametrize(
    ("taken", "ppm", "within"),
    [
        (marks(TWO_HOURS), 0, 0),
        (marks(TWO_HOURS, drift_ppm=80), 80, 0.001),
        (marks(TWO_HOURS, drift_ppm=-300), -300, 0.001),
        (marks(TWO_HOURS, drift_ppm=80, jitter_ms=30), 80, 2),
        # A wall clock that is set is nothing to it.
        (marks(TWO_HOURS, drift_ppm=80, steps={50: 3600}), 80, 0.001),
        # Too little to go by.
        (marks(0), 0, 0),
        (marks(1, drift_ppm=80, jitter_ms=30), 0, 0),
    ],
)
def test_drift_is_measured_against_the_monotonic_clock(
    taken: list[ClockMark], ppm: float, within: float
) -> None:
    assert AudioClock(RATE, taken).drift_ppm == pytest.approx(ppm, abs=max(within, 1e-6))


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ({}, []),
        ({50: 0.04}, []),  # the system's clock being steered
        ({50: 0.06}, [(50, 0.06)]),
        ({50: -0.06}, [(50, -0.06)]),
        ({1: 3600.0}, [(1, 3600.0)]),
        ({30: -7.5, 31: 7.5, 119: 1.0}, [(30, -7.5), (31, 7.5), (119, 1.0)]),
    ],
)
def test_steps_of_the_wall_clock_are_found(
    steps: dict[int, float], expected: list[tuple[int, float]]
) -> None:
    clock = AudioClock(RATE, marks(TWO_HOURS, drift_ppm=80, jitter_ms=30, steps=steps))
    assert list(clock.steps) == [
        ClockStep(minute * 60 * RATE, pytest.approx(seconds, abs=1e-6))  # type: ignore[arg-type]
        for minute, seconds in expected
    ]


@pytest.mark.parametrize("minute", [0, 0.5, 1, 49.9, 50, 60.3, 119.99, 120, 130])
@pytest.mark.parametrize(
    ("how", "within_ms"),
    [
        ({}, 0.002),
        ({"drift_ppm": 100}, 0.002),  # without correction 720 ms at the end
        ({"drift_ppm": -250, "steps": {50: -3600.0}}, 0.002),
        ({"drift_ppm": 100, "jitter_ms": 40, "steps": {50: 5.0, 70: 0.2}}, 41),
    ],
)
def test_utc_is_that_of_the_start_whatever_the_clocks_do(
    how: dict[str, object], within_ms: float, minute: float
) -> None:
    clock = AudioClock(RATE, marks(TWO_HOURS, **how))  # type: ignore[arg-type]
    true = START + timedelta(minutes=minute * (1 + float(how.get("drift_ppm", 0)) / 1e6))  # type: ignore[arg-type]
    off = clock.utc_of(round(minute * 60 * RATE)) - true
    assert abs(off) <= timedelta(milliseconds=within_ms)


def test_utc_never_runs_backwards() -> None:
    """Rows that follow each other in the log do so in UTC too, however late marks were taken."""
    clock = AudioClock(RATE, marks(20, drift_ppm=-200, jitter_ms=200))
    moments = [clock.utc_of(sample) for sample in range(0, 22 * 60 * RATE, 1601)]
    assert moments == sorted(moments)


def test_one_late_mark_moves_nothing() -> None:
    taken = marks(TWO_HOURS, drift_ppm=50)
    late = taken[60]
    taken[60] = ClockMark(late.sample, late.monotonic_ns + 2 * 10**9, late.wall_ns + 2 * 10**9)
    clock = AudioClock(RATE, taken)
    assert clock.drift_ppm == pytest.approx(50, abs=0.01)
    off = clock.utc_of(late.sample) - (START + timedelta(minutes=60 * (1 + 50e-6)))
    assert abs(off) < timedelta(milliseconds=4)
    assert clock.steps == ()


def test_without_a_mark_there_is_no_clock() -> None:
    with pytest.raises(ValueError, match="no marks"):
        AudioClock(RATE, [])


def test_a_mark_is_taken_at_the_start_and_each_minute() -> None:
    """The least late block of each minute: here the one that ends at second 30, 90, ..."""
    taker = MarkTaker(RATE)
    samples = np.zeros((1, RATE), dtype=np.int16)
    found = []
    for second in range(1, 200):
        late_ns = 0 if second % 60 == 30 else 20_000_000
        clock = second * 1_000_000_000 + late_ns
        found.append(taker.push(Block(samples, (second - 1) * RATE, clock, START_NS + clock)))
    taken = [mark for mark in found if mark is not None]
    assert [mark.sample / RATE for mark in taken] == [1, 30, 90, 150]
    assert [n + 1 for n, mark in enumerate(found) if mark] == [1, 61, 121, 181]
    assert taken[1] == ClockMark(30 * RATE, 30_000_000_000, START_NS + 30_000_000_000)
