"""`python -m tests.bench live`: how soon a row is in the log; `soak`: whether anything grows.

live   A run played in real time through the very path of a device: seconds from the end of speech
       until its first rows are on the disk, and until the last search of it was over (settled), by
       length of speech; and what the processor did. With --busy as it would be on an idle machine.
soak   Two hours of audio, as fast as they are listened to: memory when a tenth was done and at the
       end, and how far the times of the last rows lie from those of the same speech in the first.
Nothing is asserted: the figures hang on the machine, and on what else it does.
"""

import argparse
import itertools
import os
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from statistics import median

import numpy as np
import soundfile
from rich import box
from rich.console import Console
from rich.table import Table

from tests.bench.runs import CACHE, MODEL, RUNS, bench_runs, say
from tests.bench.virtual import latencies_of
from voxlog.audio.recording import open_recording
from voxlog.capture.rehearsal import Rehearsal
from voxlog.live.ending import LiveResult, difference_in_words
from voxlog.live.listener import Listener
from voxlog.live.record import record_run
from voxlog.live.session import Latency
from voxlog.live.state import RunState

__all__ = ["add_options", "main"]

SOAK_HOURS = 2.0
LENGTHS = (0.0, 0.75, 1.5, 3.0, float("inf"))
TARGET_S = 0.4


class MemoryWatch:
    """A display that shows nothing and takes note of the memory in use."""

    def __init__(self) -> None:
        self.samples: list[tuple[float, float]] = []

    def show(self, state: RunState) -> None:
        """Seconds of run time, and megabytes resident."""
        with Path("/proc/self/statm").open() as file:
            pages = int(file.read().split()[1])
        self.samples.append((state.run_s, pages * os.sysconf("SC_PAGESIZE") / 2**20))


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of `python -m tests.bench live`."""
    parser.add_argument("--runs", type=Path, default=RUNS, metavar="DIR", help="rendered set")
    parser.add_argument("--soak", action="store_true", help="two hours of audio")
    parser.add_argument("--busy", action="store_true", help="processor time, on a busy machine")
    parser.add_argument("--hours", type=float, default=SOAK_HOURS, help="of the soak")
    parser.add_argument("--minutes", type=float, default=4.0, help="of real time, without --soak")


def main(options: argparse.Namespace) -> None:
    """Measure and print."""
    [run] = bench_runs(options.runs, ["10"], ["run-a"])
    listener = Listener.load(run.sheet, MODEL, CACHE)
    console = Console(width=100, highlight=False)
    seconds = options.hours * 3600 if options.soak else options.minutes * 60
    if options.busy:
        found, difference = latencies_of(listener, run.audio, seconds)
        console.print(_latency_table(found, "By processor time"))
        console.print(difference_in_words(difference))
        return
    with tempfile.TemporaryDirectory() as folder:
        audio = Path(folder) / "played.flac"
        _repeat(run.audio, audio, seconds)
        watch = MemoryWatch()
        before = time.process_time(), time.monotonic()
        say("soak" if options.soak else "in real time")
        result = _record(listener, audio, Path(folder) / "run", watch, fast=options.soak)
        busy = (time.process_time() - before[0]) / (time.monotonic() - before[1])
        passed = time.monotonic() - before[1]
    if options.soak:
        _print_soak(console, result, watch, passed, soundfile.info(run.audio).duration)
    else:
        cores = len(os.sched_getaffinity(0))
        load = (
            f"Processor: {busy:.2f} of {cores} cores; load of the machine {os.getloadavg()[1]:.1f}"
        )
        console.print(_latency_table(result.latencies, load))
    console.print(difference_in_words(result.difference))


def _record(
    listener: Listener, audio: Path, out: Path, watch: MemoryWatch, *, fast: bool
) -> LiveResult:
    @contextmanager
    def shown() -> Iterator[MemoryWatch]:
        yield watch

    source = Rehearsal(open_recording([audio]), 0.0 if fast else 1.0)
    return record_run(listener, source, out, shown(), threading.Event(), patient=fast)


def _latency_table(latencies: Sequence[Latency], remark: str) -> Table:
    table = Table(
        box=box.SIMPLE_HEAD,
        title=f"Seconds from the end of speech until it is in the log; target {TARGET_S} for 95 of "
        f"100. {remark}",
    )
    settled = ("settled: median", "95 of 100", "worst")
    for heading in ("Voice, s", "Stretches", "Median", "95 of 100", "Worst", *settled):
        table.add_column(heading, justify="right")
    rows = [(f"{a:g} to {b:g}", a, b) for a, b in itertools.pairwise(LENGTHS)]
    for name, least, most in [*rows, ("all", 0.0, float("inf"))]:
        chosen = [one for one in latencies if least <= one.voiced < most]
        first, last = [one.seconds for one in chosen], [one.settled for one in chosen]
        figures = [
            f"{figure:.2f}"
            for found in (first, last)
            if found
            for figure in (median(found), float(np.quantile(found, 0.95)), max(found))
        ]
        table.add_row(name, str(len(chosen)), *figures)
    return table


def _print_soak(
    console: Console, result: LiveResult, watch: MemoryWatch, passed: float, period: float
) -> None:
    tenth = next(mb for at, mb in watch.samples if at >= result.seconds / 10)
    peak = max(mb for at, mb in watch.samples if at >= result.seconds / 10)
    console.print(
        f"{result.seconds / 3600:.2f} h in {passed:.0f} s, {result.seconds / passed:.1f} times "
        f"real time; memory {tenth:.0f} MB after a tenth, {watch.samples[-1][1]:.0f} MB at the "
        f"end, {peak:.0f} MB at most (target: less than 50 MB more)"
    )
    drift = _drift_ms(result, period)
    console.print(
        f"times of the last round against the first, 95 of 100 within {drift:.0f} ms (target 50)"
    )


def _drift_ms(result: LiveResult, period: float) -> float:
    """How far rows of the last whole round lie from the same words of the first: 95 of 100."""
    last = int(result.seconds / period) - 1
    first = [row for row in result.events if row.start < period and row.heard]
    later = [row for row in result.events if 0 <= row.start - last * period < period]
    apart = [
        min(
            (
                abs(other.start - last * period - row.start)
                for other in later
                if other.heard == row.heard
            ),
            default=float("nan"),
        )
        for row in first
    ]
    near = [one for one in apart if one < 1.0]
    return 1000 * float(np.quantile(near, 0.95)) if near else float("nan")


def _repeat(source: Path, target: Path, seconds: float) -> None:
    """Write the recording again and again, up to so many seconds."""
    samples, rate = soundfile.read(source, dtype="int16")
    left = round(seconds * rate)
    with soundfile.SoundFile(target, "w", rate, 1, subtype="PCM_16", format="FLAC") as file:
        while left > 0:
            file.write(samples[:left])
            left -= min(left, len(samples))
