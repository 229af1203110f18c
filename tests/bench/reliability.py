"""`python -m tests.bench reliability`: whether a row's p is the share of such rows that are right.

Values are the rows with a value, findings those that a person must look at; a row may be in both.

A row is right when it is matched to a row of the truth that has its status, its value and its
flags, less uncertain, which no truth has. A row that the truth has not is wrong. Notes are left
out: nobody says what a note should have been.

ECE, the expected calibration error: the mean distance between a bin's mean p and its share right,
weighted by its rows (Naeini et al. 2015, "Obtaining Well Calibrated Probabilities Using Bayesian
Binning"). By chance: the ECE that so many rows have on the mean when every p is exactly what it
says; a bin of twenty rows is seldom even. Brier score: the mean of (p - right) squared (Brier
1950).
"""

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean
from typing import NamedTuple

import numpy as np
from rich import box
from rich.console import Console
from rich.table import Table

from samples_synthetic.recording import CONDITIONS
from tests.bench.accuracy import parse_conditions
from tests.bench.runs import RUNS, bench_runs, log_run, say
from voxlog.follow.event import Event
from voxlog.log.finding import findings_of
from voxlog.score.matching import Pair, match_rows
from voxlog.score.score import COLLAR_S

__all__ = [
    "Bin",
    "Judged",
    "add_options",
    "bins_of",
    "brier",
    "chance_error",
    "expected_error",
    "judge",
    "judge_pair",
    "main",
    "print_reliability",
]

BINS = 10
DRAWS = 200


class Judged(NamedTuple):
    """A row of the log: the groups that it is in, its p, and whether it is right."""

    groups: tuple[str, ...]
    p: float
    is_right: bool


@dataclass(frozen=True, slots=True)
class Bin:
    """Rows whose p lies in [low, high); the last bin has its upper end too."""

    low: float
    high: float
    rows: tuple[Judged, ...]

    @property
    def mean_p(self) -> float:
        return fmean(row.p for row in self.rows)

    @property
    def share_right(self) -> float:
        return fmean(row.is_right for row in self.rows)


def judge(log: Sequence[Event], truth: Sequence[Event]) -> list[Judged]:
    """Every row of a log but notes."""
    pairs = match_rows(log, truth, COLLAR_S)
    return [judge_pair(pair) for pair in pairs if pair.log is not None]


def judge_pair(pair: Pair) -> Judged:
    """The row of the log of a pair that has one."""
    assert pair.log is not None
    return Judged(_groups(pair.log), pair.log.p, _is_right(pair))


def _groups(event: Event) -> tuple[str, ...]:
    """Its kind, and what else it is counted among."""
    others = {"values": event.value is not None, "findings": bool(findings_of(event))}
    return event.kind, *(name for name, is_one in others.items() if is_one), "all"


def _is_right(pair: Pair) -> bool:
    if pair.truth is None or pair.log is None:
        return False
    return _verdict(pair.truth) == _verdict(pair.log)


def _verdict(event: Event) -> tuple[object, ...]:
    return event.status, event.value, frozenset(event.flags) - {"uncertain"}


def bins_of(rows: Iterable[Judged], count: int = BINS) -> list[Bin]:
    """Bins of equal width from 0 to 1, also the empty ones."""
    held: list[list[Judged]] = [[] for _ in range(count)]
    for row in rows:
        held[min(int(row.p * count), count - 1)].append(row)
    return [Bin(n / count, (n + 1) / count, tuple(each)) for n, each in enumerate(held)]


def expected_error(rows: Sequence[Judged]) -> float:
    """ECE, 0 to 1."""
    bins = [each for each in bins_of(rows) if each.rows]
    return sum(len(b.rows) * abs(b.mean_p - b.share_right) for b in bins) / len(rows)


def chance_error(rows: Sequence[Judged]) -> float:
    """The mean ECE of rows that are right as often as their p says, 0 to 1."""
    rng = np.random.default_rng(0)
    drawn = (rng.random(len(rows)) for _ in range(DRAWS))
    return fmean(
        expected_error(
            [r._replace(is_right=bool(u < r.p)) for r, u in zip(rows, some, strict=True)]
        )
        for some in drawn
    )


def brier(rows: Sequence[Judged]) -> float:
    """Brier score, 0 to 1."""
    return fmean((row.p - row.is_right) ** 2 for row in rows)


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--runs", type=Path, default=RUNS, metavar="DIR", help="rendered set")
    parser.add_argument(
        "--only", default=",".join(CONDITIONS), metavar="LIST", help="conditions, as clean,10"
    )


def main(options: argparse.Namespace) -> None:
    """Log the runs of all conditions, and print the table of all rows together."""
    rows: list[Judged] = []
    for run in bench_runs(options.runs, parse_conditions(options.only)):
        say(f"{run}: voxlog")
        rows += judge(log_run(run.audio, run.sheet).events, run.truth)
    print_reliability(rows)


def print_reliability(rows: Sequence[Judged]) -> None:
    """Both tables of some rows."""
    console = Console(width=100, highlight=False)
    console.print(_bins_table(rows))
    console.print(_groups_table(rows))


def _bins_table(rows: Sequence[Judged]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, title=f"Reliability of p, {len(rows)} rows")
    for name in ("p", "Rows", "Mean p", "Share right"):
        table.add_column(name, justify="right")
    for each in bins_of(rows):
        figures = (f"{each.mean_p:.3f}", f"{each.share_right:.3f}") if each.rows else ("-", "-")
        table.add_row(f"{each.low:.1f} to {each.high:.1f}", f"{len(each.rows)}", *figures)
    return table


def _groups_table(rows: Sequence[Judged]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, title="By kind")
    for name in ("Rows that are", "Rows", "Mean p", "Share right", "ECE", "By chance", "Brier"):
        table.add_column(name, justify="left" if name == "Rows that are" else "right")
    names = dict.fromkeys(name for row in rows for name in row.groups)
    for name in sorted(names, key=("values", "findings", "all").__contains__):
        some = [row for row in rows if name in row.groups]
        figures = (
            fmean(row.p for row in some),
            fmean(row.is_right for row in some),
            expected_error(some),
            chance_error(some),
            brier(some),
        )
        table.add_row(name, f"{len(some)}", *(f"{figure:.3f}" for figure in figures))
    return table
