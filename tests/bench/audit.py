"""`python -m tests.bench audit`: time and memory of an audit of many runs.

The table is made up (tests/audit/made_up.py: a seeded generator), 120 events a run, and kept in
.cache/. `voxlog audit` is started as a user starts it, with page and CSV, so that start-up and what
it imports count. Nothing is asserted: the figures hang on the machine, and on what else it is
doing, which stands beside them.
"""

import argparse
import os
import shutil
import sys
import tempfile
from pathlib import Path
from statistics import median

from rich import box
from rich.console import Console
from rich.table import Table

from tests.audit.made_up import EVENTS_A_RUN, write_made_up
from tests.bench.runs import CACHE, ROOT, say
from tests.bench.speed import Measured, run_measured

__all__ = ["add_options", "main"]

RUNS = 10_000
REPEATS = 3


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--runs", type=int, default=RUNS, metavar="N", help="runs in the table")
    parser.add_argument("--repeats", type=int, default=REPEATS, metavar="N", help="of each")


def main(options: argparse.Namespace) -> None:
    """Measure and print."""
    table = _made_up(options.runs)
    printed = Table(
        box=box.SIMPLE_HEAD,
        title=f"{options.runs:,} runs, {options.runs * EVENTS_A_RUN:,} events, "
        f"{len(os.sched_getaffinity(0))} cores; target: 15 s, 2,048 MB",
    )
    printed.add_column("Program")
    for name in ("Seconds", "Processor seconds", "Peak MB", "Load at start"):
        printed.add_column(name, justify="right")
    with tempfile.TemporaryDirectory() as folder:
        out = ["--out", f"{folder}/page.html", "--csv", f"{folder}/csv"]
        for name, arguments in (
            ("voxlog audit, page and CSV", out),
            ("voxlog audit --unreviewed --by crew", ["--unreviewed", "--by", "crew"]),
            ("voxlog audit --since, a year", ["--since", "2025-12-01"]),
        ):
            say(name)
            command = [sys.executable, "-m", "voxlog", "audit", str(table), *arguments]
            runs = [run_measured(command, CACHE) for _ in range(options.repeats)]
            printed.add_row(name, *_cells(runs))
    Console(width=100, highlight=False).print(printed)


def _made_up(runs: int) -> Path:
    """The table, made anew whenever its generator may have changed."""
    folder = ROOT / ".cache" / "audit" / f"{runs}"
    shutil.rmtree(folder, ignore_errors=True)
    say(f"writing a table of {runs:,} runs")
    write_made_up(folder, runs)
    return folder


def _cells(runs: list[Measured]) -> list[str]:
    return [
        f"{median(each.seconds for each in runs):.1f}",
        f"{median(each.processor_seconds for each in runs):.1f}",
        f"{max(each.peak_mb for each in runs):.0f}",
        ", ".join(f"{each.load:.1f}" for each in runs),
    ]
