"""Simulated chamber runs with a known level at every moment, and the log a crew would leave.

The chamber changes its rate within every leg, eases into its levels, and wanders at them; calls
begin too early or too late; items are read out at any time. Everything is drawn from a seed.
"""

import random
from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

from voxlog.follow.event import Event, Kind, Status
from voxlog.sheet.load import read_sheet
from voxlog.sheet.model import Sheet

SHEET_TEXT = """
voxlog-sheet: 1
id: sim
title: A simulated run
source: invented for tests, not for use
positions: {conductor: Conductor, operator: Chamber operator}
asks: conductor
phases:
  - id: ground
    title: Ground
    level: 0
    steps:
      - {item: 1, ask: ready, by: operator, confirm: all ready, deny: not ready}
      - {item: 2, ask: pumps, by: operator, confirm: both warm, deny: one cold}
  - id: up-low
    title: To 8,000 ft
    rate: {min: 1000, max: 5000}
    callouts:
      - {id: low, by: operator, say: "passing {value}", unit: ft,
         from: 5000, to: 5000, low: 0, high: 30000, step: 500}
      - {id: level-low, by: operator, say: "level at {value}", unit: ft,
         from: 8000, to: 8000, low: 0, high: 30000, step: 500}
  - id: ear-check
    title: Ear check
    level: 8000
    steps:
      - {item: 3, ask: ears, by: operator, confirm: clear, deny: pain}
      - {item: 4, ask: going on, by: operator, confirm: going up, deny: staying here}
  - id: up
    title: To 25,000 ft
    rate: {min: 2000, max: 5000}
    callouts:
      - {id: climb, by: operator, say: "passing {value}", unit: ft,
         every: 5000, from: 10000, to: 20000, low: 0, high: 30000, step: 500}
      - {id: level-top, by: operator, say: "level at {value}", unit: ft,
         from: 25000, to: 25000, low: 0, high: 30000, step: 500}
  - id: plateau
    title: Plateau
    level: 25000
    steps:
      - {item: 5, ask: stable, by: operator, confirm: it is stable, deny: drifting}
      - {item: 6, ask: coming down, by: operator, confirm: descending, deny: unable}
  - id: down
    title: Descent
    rate: {min: 1000, max: 6000}
    callouts:
      - {id: sink, by: operator, say: "passing {value}", unit: ft,
         every: 5000, from: 20000, to: 5000, low: 0, high: 30000, step: 500}
  - id: closing
    title: Closing
    level: 0
    steps:
      - {item: 7, ask: ground level, by: operator, confirm: pressure equal, deny: not equal}
      - {item: 8, ask: door, by: operator, confirm: door open, deny: door stuck}
"""

STEP_S = 0.25


@cache
def sheet() -> Sheet:
    return read_sheet(SHEET_TEXT)


@dataclass(frozen=True)
class SimulatedRun:
    """level(t) is the truth; events the log; left and reached: moments of the stays' true ends."""

    level: Callable[[float], float]
    events: list[Event]
    seconds: float
    stays: list[tuple[float, float, float]]


@cache
def simulate(seed: int, timing_sd_s: float = 1.5, wander_ft: float = 80.0) -> SimulatedRun:
    lots = random.Random(seed)
    levels, stays = _chamber(lots, wander_ft)
    truth = _lookup(levels)
    rows = list(_calls(levels, stays, lots, timing_sd_s))
    for (begin, end, _), (phase, *items) in zip(stays, _STEPS, strict=True):
        for share, item in zip((0.3, 0.8), items, strict=True):
            start = begin + share * (end - begin) + lots.uniform(0, 0.1) * (end - begin)
            rows.append(_row("item", phase, item, start))
    return SimulatedRun(truth, rows, len(levels) * STEP_S, stays)


_STEPS = (
    ("ground", "1", "2"),
    ("ear-check", "3", "4"),
    ("plateau", "5", "6"),
    ("closing", "7", "8"),
)


def _chamber(
    lots: random.Random, wander_ft: float
) -> tuple[list[float], list[tuple[float, float, float]]]:
    """The gauge every STEP_S, and the stays as (begin, end, level)."""
    levels: list[float] = []
    stays = []
    for place, level in enumerate((0.0, 8000.0, 25000.0, 0.0)):
        if place:
            _climb(levels, level, lots)
        begin = len(levels) * STEP_S
        span = lots.uniform(60, 400)
        drift = 0.0
        for _ in range(int(span / STEP_S)):
            drift = 0.98 * drift + lots.gauss(0, 0.2 * wander_ft / 2)
            levels.append(level + (drift if level else 0.0))
        stays.append((begin, len(levels) * STEP_S, level))
    return levels, stays


def _climb(levels: list[float], to: float, lots: random.Random) -> None:
    """At a rate that is drawn again every 10 to 40 s, easing off over the last 600 ft."""
    at = levels[-1] if levels else 0.0
    way = 1 if to > at else -1
    usual, left_s, rate = lots.uniform(1500, 5000) / 60, 0.0, 0.0
    while (to - at) * way > 1:
        if left_s <= 0:
            left_s, rate = lots.uniform(10, 40), usual * lots.uniform(0.6, 1.4)
        ease = min(abs(to - at) / 600, 1.0)
        at += way * rate * max(ease, 0.1) * STEP_S
        left_s -= STEP_S
        levels.append(at)


def _lookup(levels: list[float]) -> Callable[[float], float]:
    times = [n * STEP_S for n in range(len(levels))]
    return lambda t: levels[max(bisect_right(times, t) - 1, 0)]


def _calls(
    levels: list[float],
    stays: list[tuple[float, float, float]],
    lots: random.Random,
    timing_sd_s: float,
) -> Iterator[Event]:
    ways = (
        ("up-low", 0, (("low", 5000.0), ("level-low", 8000.0))),
        ("up", 1, (*(("climb", v) for v in (1e4, 1.5e4, 2e4)), ("level-top", 25000.0))),
        ("down", 2, tuple(("sink", v) for v in (2e4, 1.5e4, 1e4, 5000.0))),
    )
    for phase, place, calls in ways:
        begin, end = stays[place][1], stays[place + 1][0]
        rising = stays[place + 1][2] > stays[place][2]
        for name, value in calls:
            passed = end
            for n in range(int(begin / STEP_S), int(end / STEP_S)):
                if (levels[n] >= value) if rising else (levels[n] <= value):
                    passed = n * STEP_S
                    break
            start = passed + lots.gauss(0, timing_sd_s)
            yield _row("callout", phase, name, start, value=value, unit="ft")


def _row(
    kind: Kind, phase: str, item: str, start: float, value: float | None = None, unit: str = ""
) -> Event:
    status: Status = "confirmed"
    return Event(start, start + 2.0, kind, phase, item, status=status, value=value, unit=unit)
