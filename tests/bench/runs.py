"""The recordings that are measured: the scenario set, rendered when it is not there yet.

Reported are run-m, run-n and run-o, by which nothing in the program was set or changed. Constants
were set on fit-*, which have other voices; run-a to run-l, with the voices of the reported ones,
served to find faults.
"""

import os
import sys
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from samples_synthetic.recording import CONDITIONS, Condition, write_recording
from samples_synthetic.scenario import load_scenario
from voxlog.cli.options import MODEL
from voxlog.follow.event import Event
from voxlog.log.table import read_table
from voxlog.pipeline import LogRequest, RunResult, log_recording

__all__ = ["CACHE", "ROOT", "RUNS", "SCENARIOS", "BenchRun", "bench_runs", "log_run", "say"]

ROOT = Path(__file__).parents[2]
RUNS = ROOT / ".cache" / "runs"
CACHE = ROOT / ".cache" / "voxlog"
SCENARIOS = ("run-m", "run-n", "run-o")


@dataclass(frozen=True, slots=True)
class BenchRun:
    """A recording with its sheet and what was really said."""

    name: str
    condition: Condition
    audio: Path
    sheet: Path
    truth: tuple[Event, ...]

    def __str__(self) -> str:
        return f"{self.name} {self.condition}"


def bench_runs(
    folder: Path, conditions: Iterable[Condition] = CONDITIONS, names: Iterable[str] = SCENARIOS
) -> list[BenchRun]:
    """The runs under each condition; those that `folder` lacks are rendered into it."""
    names = tuple(names)
    return [_run(folder, name, condition) for condition in conditions for name in names]


def _run(folder: Path, name: str, condition: Condition) -> BenchRun:
    scenario = load_scenario(ROOT / "samples_synthetic" / "scenarios" / f"{name}.yaml")
    place = folder / f"{name}-{condition}"
    if not (place / "scenario.yaml").is_file():  # the last file that is written
        say(f"{place.name}: rendering")
        write_recording(scenario, place, condition, lambda done, of: None)
    return BenchRun(
        name=name,
        condition=condition,
        audio=place / "audio.flac",
        sheet=Path(scenario.sheet.file),
        truth=tuple(read_table(place / "truth.csv")),
    )


def log_run(audio: Path, sheet: Path, cache: Path = CACHE, model: str = MODEL) -> RunResult:
    """Log a recording as `voxlog log` does; the run folder is thrown away."""
    with tempfile.TemporaryDirectory() as folder:
        request = LogRequest((audio,), sheet, Path(folder) / "run", model, cache)
        return log_recording(request, lambda at, of: None)


def say(what: str) -> None:
    """Tell on standard error what is being done, and how busy the machine is."""
    print(f"[load {os.getloadavg()[0]:.1f}] {what}", file=sys.stderr, flush=True)
