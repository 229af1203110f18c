"""`python -m tests.bench fit-certainty`: sets the weights of voxlog/follow/certainty.py.

Made for this and used for nothing else: the sheets `sheets/ferry.yaml` and, with calls of levels
and times, `sheets/lock.yaml` and `sheets/mill.yaml`, three scripts of each, spoken by `FIT` voices
under every disturbance of `disturbance.py`; and the fit-* scenarios. What is reported has other
voices, sheets, seeds and other kinds or strengths of disturbance.

Recordings are rendered and listened to once (`.cache/certainty`); what was heard is kept until
recogniser, sheet or recording change. The rows are followed and the weights set anew each time.

The weights are those under which the rows that were right are likeliest (logistic regression, a
little drawn towards zero). Reliability is shown for rows of disturbances, and for rows of
disturbances and sheets, that the weights for them had not seen.
"""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from operator import eq
from pathlib import Path
from typing import Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.table import Table
from scipy.optimize import minimize
from scipy.special import expit
from threadpoolctl import threadpool_limits

from samples_synthetic.recording import Condition
from samples_synthetic.scenario import Scenario, load_scenario
from tests.bench.disturbance import DISTURBANCES, disturb
from tests.bench.heard import hear
from tests.bench.reliability import Judged, brier, expected_error, judge_pair
from tests.bench.runs import ROOT, RUNS, bench_runs, say
from voxlog.follow.certainty import WEIGHTS, Claim, Signs, Weights, certainty, signs_of
from voxlog.follow.follower import judge_run
from voxlog.log.table import read_table
from voxlog.score.matching import match_rows
from voxlog.score.score import COLLAR_S
from voxlog.sheet.phrases import sheet_phrases

__all__ = ["CERTAINTY", "SCRIPTS", "Seen", "add_options", "fit", "main"]

Floats = NDArray[np.float64]

CERTAINTY = ROOT / ".cache" / "certainty"
SHEETS = Path(__file__).with_name("sheets")
SCRIPTS = tuple(f"certainty-{letter}" for letter in "abcdefghi")
FIT_RUNS = ("fit-a", "fit-b", "fit-c")
FIT_CONDITIONS: tuple[Condition, ...] = ("10", "5", "0")
# Of the squares: no weight runs away where all is clear.
_DRAW = np.array([0, 1, 1, 1, 1, 1]) * 3e-3
_GROUPS = ("item", "values", "findings", "all")


class Seen(NamedTuple):
    """A row: where it is from, its signs, how it was judged before, and whether it is right."""

    sheet: str
    disturbance: str
    signs: Signs
    judged: Judged


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--runs", type=Path, default=RUNS, help="folder of rendered fit-* runs")
    parser.add_argument(
        "--detail", action="store_true", help="also the reliability of each disturbance held out"
    )


def main(options: argparse.Namespace) -> None:
    """Print the weights, to be copied by hand, and how reliable p is without and with them."""
    seen = [*_disturbed(), *_fit_runs(options.runs)]
    with threadpool_limits(1):  # products this small take longer when threads share them
        _print_fit(seen, is_detailed=options.detail)


def _print_fit(seen: Sequence[Seen], *, is_detailed: bool) -> None:
    console = Console(width=110, highlight=False)
    fitted = fit(seen)
    for claim, weights in fitted.items():
        figures = ", ".join(f"{weight:.2f}" for weight in weights)
        rows = sum(row.signs.claim == claim for row in seen)
        console.print(f'    "{claim}": Weights({figures}),  # {rows} rows')
    by_disturbance = _held_out(seen, "disturbance")
    results = {
        "as judged": [row.judged for row in seen],
        "with the weights in the program": [_with(row, WEIGHTS) for row in seen],
        "fitted, on the same rows": [_with(row, fitted) for row in seen],
        "fitted, disturbance held out": by_disturbance,
        "fitted, disturbance and sheet held out": _held_out(seen, "disturbance", "sheet"),
    }
    console.print(_table("Rows to set certainty on", results))
    if is_detailed:
        each = {
            name: [row for row, of in zip(by_disturbance, seen, strict=True) if of[1] == name]
            for name in dict.fromkeys(row.disturbance for row in seen)
        }
        console.print(_table("By disturbance, held out", each))


def fit(seen: Sequence[Seen]) -> dict[Claim, Weights]:
    """The weights under which the right rows are likeliest, for each claim by itself."""
    return {claim: _fit([r for r in seen if r.signs.claim == claim]) for claim in get_args(Claim)}


def _fit(seen: Sequence[Seen]) -> Weights:
    signs = np.array([[1.0, *row.signs[1:]] for row in seen])
    side = np.array([1.0 if row.judged.is_right else -1.0 for row in seen])

    def unlikeliness(weights: Floats) -> tuple[float, Floats]:
        """And how it grows with each weight."""
        against = -side * (signs @ weights)
        lost = np.logaddexp(0.0, against).mean() + _DRAW @ weights**2
        return float(lost), 2 * _DRAW * weights - signs.T @ (side * expit(against)) / len(seen)

    # What speaks for a row may not count against it, nor the other way about.
    bounds = [(None, None), (0.0, None), (None, 0.0), (None, 0.0), (0.0, None), (0.0, None)]
    start = np.zeros(len(bounds))
    return Weights(*map(float, minimize(unlikeliness, start, jac=True, bounds=bounds).x))


def _held_out(seen: Sequence[Seen], *parts: Literal["disturbance", "sheet"]) -> list[Judged]:
    """Each row by weights that no row of its disturbance, and sheet, had a part in; in order."""

    def place(row: Seen) -> tuple[str, ...]:
        return tuple(getattr(row, part) for part in parts)

    def others(of: tuple[str, ...]) -> list[Seen]:
        return [row for row in seen if not any(map(eq, of, place(row)))]

    weights = {of: fit(others(of)) for of in set(map(place, seen))}
    return [_with(row, weights[place(row)]) for row in seen]


def _with(row: Seen, weights: Mapping[Claim, Weights]) -> Judged:
    return row.judged._replace(p=certainty(row.signs, weights))


def _disturbed() -> Iterator[Seen]:
    for name, disturbance in DISTURBANCES.items():
        for script in SCRIPTS:
            place = CERTAINTY / f"{script}-{name}"
            scenario = load_scenario(SHEETS / f"{script}.yaml")
            if not (place / "scenario.yaml").is_file():
                say(f"{place.name}: rendering")
                disturb(scenario, disturbance, place)
            yield from _seen(name, scenario, place)


def _fit_runs(runs: Path) -> Iterator[Seen]:
    for name, condition in product(FIT_RUNS, FIT_CONDITIONS):
        (run,) = bench_runs(runs, [condition], [name])
        scenario = load_scenario(ROOT / "samples_synthetic" / "scenarios" / f"{name}.yaml")
        yield from _seen(f"{name}-{condition}", scenario, run.audio.parent)


def _seen(name: str, scenario: Scenario, place: Path) -> Iterator[Seen]:
    """The rows of a run as the judges have them, less the notes."""
    sheet = scenario.sheet
    heard = hear(place / "audio.flac", sheet, CERTAINTY / "heard")
    rows = judge_run(heard.utterances, sheet, sheet_phrases(sheet), heard.seconds)
    signs = {id(row): of for row, of in zip(rows, signs_of(rows), strict=True)}
    for pair in match_rows(rows, read_table(place / "truth.csv"), COLLAR_S):
        of_row = signs.get(id(pair.log))
        if of_row is not None:
            yield Seen(sheet.id, name, of_row, judge_pair(pair))


def _table(title: str, results: dict[str, list[Judged]]) -> Table:
    table = Table(title=title)
    table.add_column("")
    for group in _GROUPS:
        table.add_column(f"{group}: rows, p, right, ECE, Brier", justify="right")
    for name, rows in results.items():
        table.add_row(name, *(_cell([row for row in rows if g in row.groups]) for g in _GROUPS))
    return table


def _cell(rows: Sequence[Judged]) -> str:
    if not rows:
        return "-"
    p, right = (float(np.mean([row[n] for row in rows])) for n in (1, 2))
    return f"{len(rows)}  {p:.2f} {right:.2f}  {expected_error(rows):.3f} {brier(rows):.3f}"
