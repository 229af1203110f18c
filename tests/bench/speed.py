"""`python -m tests.bench speed`: time and memory of a 20-minute run, and of the follower alone.

The run is run-a, at 10 dB unless asked otherwise, repeated to exactly 20 minutes. `voxlog log` and
the obvious pipeline are started as a user starts them, so that start-up and the loading of the
model count. Nothing is asserted: the figures hang on the machine, and on what else it is doing,
which stands beside them.
"""

import argparse
import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import linear_regression, median

import numpy as np
import soundfile
from rich import box
from rich.console import Console
from rich.table import Table

from samples_synthetic.recording import CONDITIONS
from tests.bench.long_run import SIZES, made_up_run
from tests.bench.runs import CACHE, ROOT, RUNS, BenchRun, bench_runs, say
from voxlog.errors import InputError
from voxlog.follow.follower import follow

__all__ = ["Measured", "add_options", "main", "run_measured"]

MINUTES = 20
WARM_REPEATS = 3
RATE = 16_000


@dataclass(frozen=True, slots=True)
class Measured:
    """A program that ended. seconds: by the wall. peak_mb: resident memory. load: at its start.
    processor_seconds: of all its threads.
    """

    seconds: float
    peak_mb: float
    load: float
    processor_seconds: float


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--runs", type=Path, default=RUNS, metavar="DIR", help="rendered set")
    parser.add_argument("--over", choices=CONDITIONS, default="10", help="dB of speech over noise")
    parser.add_argument("--no-baseline", action="store_true", help="voxlog alone")
    parser.add_argument("--only-follower", action="store_true", help="no recordings")


def main(options: argparse.Namespace) -> None:
    """Measure and print."""
    console = Console(width=100, highlight=False)
    if not options.only_follower:
        [run] = bench_runs(options.runs, [options.over], ["run-a"])
        with tempfile.TemporaryDirectory() as folder:
            console.print(_programs_table(run, Path(folder), baseline=not options.no_baseline))
    console.print(_follower_table())


def run_measured(command: Sequence[str], cache: Path) -> Measured:
    """Run a program to its end; InputError with its last words if it fails."""
    load = os.getloadavg()[0]
    with tempfile.TemporaryFile() as words:
        started = time.monotonic()
        program = subprocess.Popen(
            command,
            cwd=ROOT,
            env={**os.environ, "VOXLOG_CACHE": str(cache)},
            stdout=subprocess.DEVNULL,
            stderr=words,
        )
        _, status, usage = os.wait4(program.pid, 0)
        seconds = time.monotonic() - started
        program.returncode = os.waitstatus_to_exitcode(status)
        if program.returncode:
            words.seek(0)
            last = words.read().decode(errors="replace").strip().splitlines()[-1:]
            raise InputError(f"{' '.join(command)}: exit {program.returncode}; {''.join(last)}")
    return Measured(seconds, usage.ru_maxrss / 1024, load, usage.ru_utime + usage.ru_stime)


def _programs_table(run: BenchRun, folder: Path, *, baseline: bool) -> Table:
    audio = folder / "twenty.flac"
    _repeat(run.audio, audio, MINUTES * 60)
    table = Table(
        box=box.SIMPLE_HEAD,
        title=f"A run of {MINUTES} minutes, {len(os.sched_getaffinity(0))} cores; target: "
        "60 times real time, 700 MB",
    )
    table.add_column("Program")
    for name in ("Runs", "Seconds", "Times real time", "Peak MB", "Load at start"):
        table.add_column(name, justify="right")
    cache = folder / "cache"
    log = [sys.executable, "-m", "voxlog", "log", str(audio), "--sheet", str(run.sheet), "--out"]
    for name, repeats in (("voxlog, empty cache", 1), ("voxlog", WARM_REPEATS)):
        say(name)
        runs = [run_measured([*log, str(folder / f"{name}-{n}")], cache) for n in range(repeats)]
        table.add_row(name, *_cells(runs))
    if baseline:
        say("baseline")
        command = [sys.executable, "-m", "tests.bench.baseline", str(audio), str(run.sheet)]
        table.add_row("baseline", *_cells([run_measured(command, CACHE)]))
    return table


def _cells(runs: Sequence[Measured]) -> list[str]:
    seconds = median(each.seconds for each in runs)
    return [
        f"{len(runs)}",
        f"{seconds:.1f}",
        f"{MINUTES * 60 / seconds:.1f}",
        f"{max(each.peak_mb for each in runs):.0f}",
        ", ".join(f"{each.load:.1f}" for each in runs),
    ]


def _repeat(source: Path, target: Path, seconds: int) -> None:
    """A mono recording again and again, cut at so many seconds."""
    samples, rate = soundfile.read(source, dtype="int16")
    assert rate == RATE and samples.ndim == 1
    soundfile.write(target, np.resize(samples, seconds * RATE), RATE, subtype="PCM_16")


def _follower_table() -> Table:
    table = Table(box=box.SIMPLE_HEAD, title="The follower alone, 500 items; target: 10,000 in 3 s")
    for name in ("Utterances", "Seconds", "Rows"):
        table.add_column(name, justify="right")
    seconds = []
    for size in SIZES:
        run = made_up_run(size)
        say(f"follower: {size}")
        started = time.process_time()  # the follower is one thread; others may be busy
        rows = follow(run.utterances, run.sheet, run.phrases, run.end)
        seconds.append(time.process_time() - started)
        table.add_row(f"{size:,}", f"{seconds[-1]:.2f}", f"{len(rows)}")
    slope = linear_regression([math.log(n) for n in SIZES], [math.log(s) for s in seconds]).slope
    table.caption = f"seconds grow as utterances to the power {slope:.2f}"
    return table
