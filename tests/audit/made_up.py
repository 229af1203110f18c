"""The table of made-up runs, with what an audit ought to find planted in it.

Everything is drawn from a seeded generator, so that a table is the same every time. Each run has
the items of its sheet (1 to 100), twelve readings and eight callouts. Planted in sheet `heron`:

    item 12   skipped in eight runs of a hundred
    item 30   unconfirmed three times as often in the last year
    item 41   goes wrong with item 40 in four of five runs in which that one does
    item 17   its value sinks by 60 psi a year toward the lower limit of 1600
    crew C-07 answers one item in five before a person could have looked
    item 55   unconfirmed often, in rows that the recogniser is unsure of

`heron` is seven runs of ten, `plover` the others, without anything planted. One run in ten has
nobody's review; a hundredth have no known start. Some runs are worse than others in everything.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from numpy.typing import NDArray

from voxlog.archive.table import FILE_NAME, arrow_schema

__all__ = ["EVENTS_A_RUN", "ITEMS", "MONTHS", "write_made_up"]

ITEMS, READINGS, CALLOUTS = 100, 12, 8
EVENTS_A_RUN = ITEMS + READINGS + CALLOUTS
MONTHS = 36
FIRST_YEAR = 2023  # its December is the first month
POSITIONS = ("attendant", "operator", "monitor", "conductor")
CREW = tuple(f"C-{number:02}" for number in range(1, 25))


def write_made_up(folder: Path, runs: int, seed: int = 20261125) -> None:
    """Write a table of so many runs, 120 events each, as voxlog archive lays it out."""
    rng = np.random.default_rng(seed)
    month_of_run = np.sort(rng.integers(0, MONTHS, runs))
    month_of_run[rng.random(runs) < 0.01] = -1
    for month in np.unique(month_of_run):
        numbers = np.flatnonzero(month_of_run == month)
        year, place = divmod(FIRST_YEAR * 12 + 11 + int(month), 12)
        name = "unknown" if month < 0 else f"{year:04}-{place + 1:02}"
        target = folder / f"month={name}"
        target.mkdir(parents=True)
        first = None if month < 0 else datetime(year, place + 1, 1, tzinfo=UTC)
        table = _month(rng, numbers, first, max(int(month), 0))
        pq.write_table(table, target / FILE_NAME, compression="zstd", row_group_size=64_000)


def _month(
    rng: np.random.Generator, numbers: NDArray[np.intp], first: datetime | None, month: int
) -> pa.Table:
    runs, n = len(numbers), len(numbers) * EVENTS_A_RUN
    run = np.repeat(np.arange(runs), EVENTS_A_RUN)
    place = np.tile(np.arange(EVENTS_A_RUN), runs)
    is_item = place < ITEMS
    item = np.where(is_item, place + 1, 0)
    is_heron = rng.random(runs) < 0.7
    heron = is_heron[run]
    badness = rng.gamma(2.0, 0.5, runs)[run]
    crew = np.stack([rng.choice(len(CREW), len(POSITIONS), replace=False) for _ in range(runs)])
    position = place % len(POSITIONS)
    who = crew[run, position]

    def planted(number: int) -> NDArray[np.bool_]:
        return heron & (item == number)

    base = {"skipped": 0.01, "unconfirmed": 0.02, "out": 0.008, "negative": 0.004}
    p_of = {name: np.minimum(base_p * badness, 0.5) for name, base_p in base.items()}
    p_of["skipped"][planted(12)] = 0.08
    p_of["unconfirmed"][planted(30)] *= 3.0 if month >= MONTHS - 12 else 1.0
    p_of["unconfirmed"][planted(55)] = 0.09
    draw = {name: (rng.random(n) < p_of[name]) & is_item for name in p_of}
    both = planted(41) & np.roll(draw["unconfirmed"] | draw["skipped"], 1) & (rng.random(n) < 0.8)
    draw["unconfirmed"] |= both
    status = np.select(
        [~is_item, draw["skipped"], draw["unconfirmed"], draw["negative"]], [0, 1, 2, 3], 4
    )
    answered = status >= 3
    delay = np.exp(rng.normal(np.log(900), 0.45, n))
    too_fast = rng.random(n) < np.where(CREW.index("C-07") == who, 0.2, 0.01)
    delay = np.where(too_fast, rng.uniform(0, 290, n), np.maximum(delay, 310)).round()
    p = np.round(1 - rng.beta(0.5, 9, n), 3)
    unsure = (status == 2) & ((rng.random(n) < 0.3) | planted(55))
    p[unsure] = np.round(rng.uniform(0.3, 0.7, unsure.sum()), 3)
    has_value = (item == 17) | (~is_item & (place < ITEMS + READINGS))
    value = np.where(item == 17, 1800 - 60 * heron * month / 12, 95.0)
    value = np.round(value + rng.normal(0, np.where(item == 17, 25, 2), n))
    has_value &= (status == 0) | (status == 4)
    at = np.cumsum(rng.integers(3_000, 9_000, n).reshape(runs, -1), axis=1).ravel()
    length = np.where(status == 1, 0, rng.integers(1_500, 4_000, n))
    reviewed = (rng.random(runs) < 0.9)[run]
    decided = reviewed & ((status > 0) & (status < 4) | draw["out"])
    starts = (
        [None] * runs
        if first is None
        else [first + timedelta(minutes=int(m)) for m in rng.integers(0, 27 * 1440, runs)]
    )
    columns = {
        "run": _coded(run, [f"r-{number:05}" for number in numbers]),
        "sheet": _coded(np.where(heron, 0, 1), ["heron", "plover"]),
        "sheet_sha256": _coded(np.where(heron, 0, 1), ["ab" * 32, "cd" * 32]),
        "model": _coded(np.zeros(n), ["tiny.en"]),
        "start": pa.array(starts, pa.timestamp("ms", tz="UTC")).take(pa.array(run)),
        "run_ms": at.reshape(runs, -1)[:, -1][run] + 60_000,
        "subjects": _coded(run, [f"S-{number % 400:03}" for number in numbers]),
        "crew": _coded(who, CREW),
        "reviewed": reviewed,
        "review": _coded(np.where(decided, 1, 0), ["", "agreed"]),
        "n": place + 1,
        "t_ms": at,
        "t_end_ms": at + length,
        "kind": _coded(
            np.select([is_item, place < ITEMS + READINGS], [0, 1], 2),
            ["item", "reading", "callout"],
        ),
        "phase": _coded(place * 4 // EVENTS_A_RUN, ["ground", "climb", "plateau", "descent"]),
        "item": _coded(place, _names()),
        "position": _coded(position, POSITIONS),
        "status": _coded(status, ["", "skipped", "unconfirmed", "negative", "confirmed"]),
        "flags": _coded(
            draw["out"] + 2 * (unsure & ~decided),
            ["", "out-of-order", "uncertain", "out-of-order;uncertain"],
        ),
        "heard": pa.array([""] * n),
        "value": _sparse(value, has_value),
        "unit": _coded(has_value * np.where(item == 17, 1, 2), ["", "psi", "%"]),
        "p": p,
        "note": pa.array([""] * n),
        "delay_ms": _sparse(delay, answered).cast(pa.int64()),
        "limit_low": _sparse(np.where(item == 17, 1600.0, 70.0), has_value),
        "limit_high": _sparse(np.where(item == 17, 2200.0, 100.0), has_value),
    }
    schema = arrow_schema()
    return pa.table({name: columns[name] for name in schema.names}, schema=schema)


def _names() -> list[str]:
    return [
        *(str(number) for number in range(1, ITEMS + 1)),
        *(f"saturation-{number}" for number in range(1, READINGS + 1)),
        *(f"climb-{number}" for number in range(1, CALLOUTS + 1)),
    ]


def _coded(codes: NDArray[Any], names: Any) -> pa.DictionaryArray:
    return pa.DictionaryArray.from_arrays(pa.array(codes, pa.int32()), pa.array(names))


def _sparse(values: NDArray[Any], known: NDArray[np.bool_]) -> pa.Array:
    return pa.array(values, pa.float64(), mask=~known)
