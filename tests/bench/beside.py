"""`python -m tests.bench beside`: voxlog and others on the same audio, in one table.

Each row logs each run in a process of its own, so that time and memory are its own, with start and
the loading of models in them. What was measured is kept: events and what was heard in a folder for
each row and run, time and memory in `measured.json`. Started again, only what is missing is
measured; `--only` measures rows anew and prints them among the rest.

Times need a machine with nothing else to do: `--speed-only run-m --over 10` takes the time of every
row on one run, and the table prefers those times to what the scored runs happened to take. The
machine's load stands beside each.
"""

import argparse
import json
import shutil
import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import soundfile
from rich.console import Console

from samples_synthetic.recording import Condition
from tests.bench.accuracy import parse_conditions
from tests.bench.contender import CONTENDERS
from tests.bench.contest import Entry, Timing, contest_table, lost_cells
from tests.bench.pool import pool
from tests.bench.runs import CACHE, ROOT, RUNS, SCENARIOS, BenchRun, bench_runs, say
from tests.bench.speed import run_measured
from voxlog.errors import InputError
from voxlog.log.table import read_table

__all__ = ["add_options", "main"]

RESULTS = ROOT / ".cache" / "beside"


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--runs", type=Path, default=RUNS, metavar="DIR", help="rendered set")
    parser.add_argument(
        "--over", default="clean,10", metavar="LIST", help="conditions; default clean,10"
    )
    parser.add_argument(
        "--scenarios", default=",".join(SCENARIOS), metavar="LIST", help="runs; default all three"
    )
    parser.add_argument(
        "--only", metavar="LIST", help=f"rows to measure anew, of {', '.join(CONTENDERS)}"
    )
    parser.add_argument("--speed-only", metavar="RUN", help="time each row on this run, score none")
    parser.add_argument("--table", action="store_true", help="print what was measured before")
    parser.add_argument(
        "--results", type=Path, default=RESULTS, metavar="DIR", help="where results are kept"
    )


def main(options: argparse.Namespace) -> None:
    """Measure what is wanted, print all."""
    conditions = parse_conditions(options.over)
    names = options.scenarios.split(",")
    results = _Results(options.results)
    rows = _parse_rows(options.only)
    if options.speed_only:
        for run in bench_runs(options.runs, conditions, [options.speed_only]):
            _measure(results, run, rows, "speed")
    elif not options.table:
        for run in bench_runs(options.runs, conditions, names):
            is_wanted = [options.only or not results.has_run(row, run) for row in rows]
            _measure(results, run, [r for r, w in zip(rows, is_wanted, strict=True) if w], "runs")
    console = Console(width=130, highlight=False)
    entries = {
        condition: [
            _entry(results, row, bench_runs(options.runs, [condition], names)) for row in CONTENDERS
        ]
        for condition in conditions
    }
    console.print(contest_table(entries))
    for condition, of in entries.items():
        for sentence in lost_cells(of):
            console.print(f"{condition}: not won by voxlog: {sentence}", markup=False)


class _Results:
    """What was measured, in a folder: `runs` beside the scored events, `speed` for itself."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._file = folder / "measured.json"
        self._kept = self._read()

    def place(self, row: str, run: BenchRun) -> Path:
        return self._folder / row / f"{run.name}-{run.condition}"

    def has_run(self, row: str, run: BenchRun) -> bool:
        return str(run) in self._kept["runs"].get(row, {})

    def keep(self, kind: str, row: str, run: BenchRun, timing: Timing) -> None:
        """Kept under the run's name with its condition; of speed, one for each condition."""
        self._kept = self._read()  # another row may be measured at the same time
        key = str(run) if kind == "runs" else run.condition
        self._kept[kind].setdefault(row, {})[key] = asdict(timing)
        self._folder.mkdir(parents=True, exist_ok=True)
        self._file.write_text(json.dumps(self._kept, indent=1), encoding="utf-8")

    def _read(self) -> dict[str, Any]:
        if not self._file.exists():
            return {"runs": {}, "speed": {}}
        kept: dict[str, Any] = json.loads(self._file.read_text(encoding="utf-8"))
        return kept

    def timings(self, row: str, runs: Iterable[BenchRun]) -> tuple[Timing, ...]:
        kept = self._kept["runs"].get(row, {})
        return tuple(Timing.of(kept[str(run)]) for run in runs if str(run) in kept)

    def speed(self, row: str, condition: Condition) -> tuple[Timing, ...]:
        kept = self._kept["speed"].get(row, {}).get(condition)
        return (Timing.of(kept),) if kept else ()


def _measure(results: _Results, run: BenchRun, rows: Sequence[str], kind: str) -> None:
    audio_seconds = soundfile.info(run.audio).duration
    for row in rows:
        say(f"{run}: {row}")
        place = results.place(row, run)
        out = place if kind == "runs" else place.with_name("speed")
        command = [sys.executable, "-m", "tests.bench.contender", row]
        try:
            measured = run_measured([*command, str(run.audio), str(run.sheet), str(out)], CACHE)
        except InputError as error:  # one that cannot run here must not keep the others from it
            say(f"left out: {error}")
            continue
        finally:
            if kind == "speed":
                shutil.rmtree(out, ignore_errors=True)
        timing = Timing(
            run=run.name,
            seconds=measured.seconds,
            audio_seconds=audio_seconds,
            peak_mb=measured.peak_mb,
            load=measured.load,
            processor_seconds=measured.processor_seconds,
        )
        results.keep(kind, row, run, timing)


def _entry(results: _Results, row: str, runs: Sequence[BenchRun]) -> Entry:
    """Of a row under one condition, that of these runs."""
    scored = [run for run in runs if results.has_run(row, run)]
    timings = results.timings(row, scored)
    pairs = [(read_table(results.place(row, run) / "events.csv"), run.truth) for run in scored]
    return Entry(
        title=CONTENDERS[row].title,
        is_ours=CONTENDERS[row].is_voxlog,
        pooled=pool(pairs) if pairs else None,
        hours=sum(timing.audio_seconds for timing in timings) / 3600,
        timings=results.speed(row, runs[0].condition) or timings,
        runs=len(scored),
        is_whole=len(scored) == len(runs),
    )


def _parse_rows(text: str | None) -> list[str]:
    rows = text.split(",") if text else list(CONTENDERS)
    unknown = [row for row in rows if row not in CONTENDERS]
    if unknown:
        raise InputError(f"--only {text}: no row {unknown[0]}; rows are {', '.join(CONTENDERS)}")
    return rows
