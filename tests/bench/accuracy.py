"""`python -m tests.bench accuracy`: voxlog and the obvious pipeline on the same recordings.

Each figure is pooled over the runs of a condition: counts are added, then divided. Time is not
measured here; see speed.py.
"""

import argparse
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from rich import box
from rich.console import Console
from rich.table import Table

from samples_synthetic.recording import CONDITIONS, Condition
from tests.bench.baseline import baseline_events
from tests.bench.pool import Pooled, pool
from tests.bench.runs import CACHE, RUNS, BenchRun, bench_runs, log_run, say
from tests.bench.transcript import Transcriber
from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.score.tally import Tally
from voxlog.sheet.load import load_sheet

__all__ = ["add_options", "main"]

Pipeline = Literal["voxlog", "baseline"]
Results = Mapping[Condition, Mapping[Pipeline, Pooled]]
Log = Callable[[BenchRun], Sequence[Event]]


@dataclass(frozen=True, slots=True)
class Figure:
    """A row of the table. best: whether more or less is better. targets: clean, 10, 5, 0 dB."""

    name: str
    of: Callable[[Pooled], float | None]
    best: Literal["more", "less"]
    targets: tuple[float, ...]
    shape: str = ".3f"

    def is_reached(self, figure: float, target: float) -> bool:
        return figure >= target if self.best == "more" else figure <= target


FIGURES = (
    Figure("Item status accuracy", lambda p: p.item_status.share, "more", (0.99, 0.98, 0.95, 0.85)),
    Figure(
        "Recall of planted deviations", lambda p: p.findings.recall, "more", (1.0, 0.97, 0.93, 0.80)
    ),
    Figure(
        "False findings in 60 items",
        lambda p: p.in_60_items(p.findings.false),
        "less",
        (0, 1, 3, 6),
        ".1f",
    ),
    Figure(
        "  with uncertain on right rows",
        lambda p: p.in_60_items(p.with_uncertain),
        "less",
        (0, 1, 3, 6),
        ".1f",
    ),
    Figure("Value accuracy", lambda p: p.values.share, "more", (0.99, 0.97, 0.93, 0.85)),
    Figure(
        "Event time error, 95th percentile, s",
        lambda p: p.time_error.p95_s,
        "less",
        (0.3, 0.5, 0.5, 1.0),
        ".2f",
    ),
)


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--runs", type=Path, default=RUNS, metavar="DIR", help="rendered set")
    parser.add_argument(
        "--only", default=",".join(CONDITIONS), metavar="LIST", help="conditions, as clean,10"
    )
    parser.add_argument("--no-baseline", action="store_true", help="voxlog alone")
    parser.add_argument("--detail", action="store_true", help="also name what was missed or false")
    parser.add_argument("--json", type=Path, metavar="FILE", help="keep all figures")


def main(options: argparse.Namespace) -> None:
    """Log every run, score, print."""
    conditions = parse_conditions(options.only)
    runs = bench_runs(options.runs, conditions)
    pipelines: dict[Pipeline, Log] = {"voxlog": _with_voxlog}
    if not options.no_baseline:
        pipelines["baseline"] = _with_baseline()
    results: dict[Condition, dict[Pipeline, Pooled]] = {
        condition: {
            pipeline: pool(
                (_told(pipeline, log, run), run.truth) for run in runs if run.condition == condition
            )
            for pipeline, log in pipelines.items()
        }
        for condition in conditions
    }
    if options.json:
        plain = {c: {p: each.as_dict() for p, each in of.items()} for c, of in results.items()}
        options.json.write_text(json.dumps(plain, indent=1), encoding="utf-8")
    _print(Console(width=120, highlight=False), results, runs, detail=options.detail)


def parse_conditions(text: str) -> list[Condition]:
    """`clean,10` to the conditions of these names; InputError for any other."""
    chosen = [condition for condition in CONDITIONS if condition in text.split(",")]
    if len(chosen) != len(text.split(",")):
        raise InputError(
            f"--only {text}: not a list of {', '.join(CONDITIONS)}; name some of these"
        )
    return chosen


def _told(pipeline: Pipeline, log: Log, run: BenchRun) -> Sequence[Event]:
    say(f"{run}: {pipeline}")
    return log(run)


def _with_voxlog(run: BenchRun) -> Sequence[Event]:
    return log_run(run.audio, run.sheet).events


def _with_baseline() -> Log:
    import soundfile

    transcriber = Transcriber(CACHE)

    def log(run: BenchRun) -> Sequence[Event]:
        end = soundfile.info(run.audio).duration
        return baseline_events(transcriber.lines(run.audio), load_sheet(run.sheet), end)

    return log


def _print(console: Console, results: Results, runs: Sequence[BenchRun], *, detail: bool) -> None:
    console.print(_figures(results))
    for condition, of in results.items():
        pooled = of["voxlog"]
        console.print(
            f"{condition}: {len(pooled.scores)} runs, n = {pooled.item_status.total} items, "
            f"{pooled.findings.hits + pooled.findings.missed} planted deviations, "
            f"{pooled.values.total} values, {pooled.time_error.count} times"
        )
    console.print(_tallies(results))
    if detail:
        for condition, of in results.items():
            _print_differences(console, [r for r in runs if r.condition == condition], of["voxlog"])


def _figures(results: Results) -> Table:
    table = Table(box=box.SIMPLE_HEAD, title="Accuracy, pooled over the runs of a condition")
    table.add_column("Figure")
    table.add_column("")
    for condition in results:
        table.add_column(_heading(condition), justify="right", no_wrap=True)
    for figure in FIGURES:
        targets = {c: figure.targets[CONDITIONS.index(c)] for c in results}
        table.add_row(figure.name, "target", *(f"{t:{figure.shape}}" for t in targets.values()))
        for pipeline in ("voxlog", "baseline"):
            cells = [
                _cell(figure, of.get(pipeline), targets[condition])
                for condition, of in results.items()
            ]
            if any(cells):
                table.add_row("", pipeline, *cells)
        table.add_section()
    return table


def _heading(condition: Condition) -> str:
    return condition if condition == "clean" else f"{condition} dB"


def _cell(figure: Figure, pooled: Pooled | None, target: float) -> str:
    """The figure, and whether it reaches the target or how far it is from it."""
    measured = figure.of(pooled) if pooled else None
    if measured is None:
        return "-" if pooled else ""
    if figure.is_reached(measured, target):
        return f"{measured:{figure.shape}} reached"
    return f"{measured:{figure.shape}} ({measured - target:+{figure.shape}})"


def _tallies(results: Results) -> Table:
    """Findings by label and by kind: found of those planted, and false ones."""
    table = Table(box=box.SIMPLE_HEAD, title="Findings: found/planted+false")
    table.add_column("Label or kind", no_wrap=True)
    columns = [(c, p) for c, of in results.items() for p in of]
    for condition, pipeline in columns:
        table.add_column(f"{_heading(condition)}\n{pipeline}", justify="right", no_wrap=True)
    tallies = [results[condition][pipeline].tallies() for condition, pipeline in columns]
    for name in tallies[0]:
        row = [each[name] for each in tallies]
        if any(tally != Tally() for tally in row):
            table.add_row(name, *(f"{t.hits}/{t.hits + t.missed}+{t.false}" for t in row))
    return table


def _print_differences(console: Console, runs: Sequence[BenchRun], pooled: Pooled) -> None:
    for run, differences in zip(runs, pooled.differences, strict=True):
        for each in sorted(differences, key=lambda one: one.start_s):
            console.print(
                f"{run}  {each.start_s:8.2f} s  {each.what:6}  {each.finding:12}  "
                f"{each.kind} {each.item}"
            )
