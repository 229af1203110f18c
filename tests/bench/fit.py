"""Sets the weights of voxlog/speech/evidence.py, on voices and scenarios kept for that.

Every way in which the recogniser tried to read a segment is an option, and so is "none of these".
The weights are those under which what was really said is likeliest (multinomial logistic
regression, a little drawn towards zero). Nothing of what is reported is looked at: the fit-*
scenarios have other voices, other noise and other deviations than the run-* ones.
"""

import argparse
from collections import Counter
from functools import partial
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.table import Table
from scipy.optimize import minimize

from samples_synthetic.recording import Condition, spoken_lines
from samples_synthetic.scenario import load_scenario
from tests.bench.runs import CACHE, MODEL, ROOT, RUNS, bench_runs, say
from voxlog.audio.recording import open_recording
from voxlog.audio.segment import Segment
from voxlog.audio.segmenting import segments
from voxlog.numbers.normalise import normalise
from voxlog.numbers.parse import find_values
from voxlog.sheet.load import load_sheet
from voxlog.sheet.phrases import sheet_phrases
from voxlog.speech.evidence import FITTED, Weights
from voxlog.speech.listen import side_by_side
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model
from voxlog.speech.recognise import Recogniser
from voxlog.speech.utterance import Sayable

__all__ = ["Choice", "add_options", "choices_of", "main"]

Floats = NDArray[np.float64]

_NAMES = ("fit-a", "fit-b", "fit-c")
_CONDITIONS: tuple[Condition, ...] = ("clean", "10", "5", "0")
_DRAW = 2e-4  # of the sum of squares: no weight runs away where all is clear
_TOUCHED_S = 0.1
_HALF = 0.5


class Choice(NamedTuple):
    """A segment: the marks of every reading with a 1 for the constant, and which are right."""

    condition: Condition
    marks: Floats
    right: tuple[int, ...]


class Line(NamedTuple):
    """What was said, and when."""

    start: float
    end: float
    position: str
    text: str


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of `python -m tests.bench fit`."""
    parser.add_argument("--runs", type=Path, default=RUNS, help="folder of rendered runs")
    parser.add_argument("--only", help="conditions, as in clean,10")


def main(options: argparse.Namespace) -> None:
    """Print the fitted weights, to be copied by hand, and what they get right."""
    conditions = tuple(c for c in _CONDITIONS if not options.only or c in options.only.split(","))
    choices = [choice for name in _NAMES for choice in choices_of(options.runs, name, conditions)]
    fitted = fit(choices)
    console = Console()
    console.print("Weights(" + ", ".join(f"{weight:.2f}" for weight in fitted) + ")")
    console.print(_table(choices, fitted, conditions))


def fit(choices: list[Choice]) -> Weights:
    """The weights under which the right readings are likeliest."""

    def unlikeliness(weights: Floats) -> float:
        total = sum(_log_right(choice, weights) for choice in choices)
        return -total / len(choices) + _DRAW * float(weights @ weights)

    found = minimize(unlikeliness, np.array(FITTED), method="L-BFGS-B")
    return Weights(*map(float, found.x))


def _log_right(choice: Choice, weights: Floats) -> float:
    evidence = np.append(choice.marks @ weights, 0.0)
    right = evidence[list(choice.right)] if choice.right else evidence[-1:]
    return float(np.logaddexp.reduce(right) - np.logaddexp.reduce(evidence))


def choices_of(runs: Path, name: str, conditions: tuple[Condition, ...]) -> list[Choice]:
    """The choices of a scenario's runs under some conditions, with the default model."""
    scenario = load_scenario(ROOT / "samples_synthetic" / "scenarios" / f"{name}.yaml")
    lines = [Line(*line) for line in spoken_lines(scenario, lambda done, of: None)]
    sheet = load_sheet(Path(scenario.sheet.file))
    model = SpeechModel(find_model(MODEL, CACHE), 2)
    recogniser = Recogniser(model, sheet_phrases(sheet), CACHE)
    found: list[Choice] = []
    for run in bench_runs(runs, conditions, [name]):
        say(f"{run}: reading")
        speech = segments(open_recording([run.audio]))
        choose = partial(_choice, recogniser, lines, run.condition)
        found += [choice for _, _, choice in side_by_side(choose, speech) if choice is not None]
    return found


def _choice(
    recogniser: Recogniser,
    lines: list[Line],
    condition: Condition,
    segment: Segment,
    audio: NDArray[np.float32],
) -> Choice | None:
    """None for a segment that holds a piece of a line: nobody can say what it is."""
    said = _lines_in(segment, lines)
    if said is None:
        return None
    _, readings = recogniser.read(segment, audio)
    marks = np.array([[*reading.marks, 1.0] for reading in readings])
    right = tuple(
        n for n, reading in enumerate(readings) if _is_right(recogniser.said(reading), said)
    )
    return Choice(condition, marks, right)


def _lines_in(segment: Segment, lines: list[Line]) -> list[str] | None:
    start, end = segment.bursts[0][0] / 16_000, segment.bursts[-1][1] / 16_000
    said = []
    for line in lines:
        common = min(line.end, end) - max(line.start, start)
        if common > _HALF * (line.end - line.start):
            said.append(normalise(line.text))
        elif common > _TOUCHED_S:
            return None
    return said


def _is_right(parts: tuple[Sayable, ...], said: list[str]) -> bool:
    """Whether a reading is what was said, in whatever wording of its numbers."""
    if " ".join(normalise(part.text) for part in parts) == " ".join(said):
        return True
    return len(parts) == len(said) and all(map(_is_same, parts, said))


def _is_same(part: Sayable, said: str) -> bool:
    if normalise(part.text) == said:
        return True
    carrier = _carrier(normalise(part.text))
    return part.value is not None and carrier is not None and carrier == _carrier(said)


def _carrier(text: str) -> tuple[str, float] | None:
    """The words before the only number of a text, and the number."""
    values = find_values(text)
    if len(values) != 1:
        return None
    return " ".join(text.split()[: values[0].first_word]), values[0].value


def _table(choices: list[Choice], weights: Weights, conditions: tuple[Condition, ...]) -> Table:
    table = Table(title="Segments of the fit scenarios")
    for heading in ("condition", "listed", "right", "wrong", "rejected", "unlisted", "accepted"):
        table.add_column(heading, justify="right")
    for condition in conditions:
        counts: Counter[str] = Counter()
        for choice in choices:
            if choice.condition == condition:
                counts[_outcome(choice, weights)] += 1
        listed = counts["right"] + counts["wrong"] + counts["rejected"]
        unlisted = counts["silent"] + counts["accepted"]
        numbers = (
            *(listed, counts["right"], counts["wrong"], counts["rejected"]),
            *(unlisted, counts["accepted"]),
        )
        table.add_row(condition, *map(str, numbers))
    return table


def _outcome(choice: Choice, weights: Weights) -> str:
    best = int(np.append(choice.marks @ np.array(weights), 0.0).argmax())
    is_none = best == len(choice.marks)
    if choice.right:
        return "right" if best in choice.right else "rejected" if is_none else "wrong"
    return "silent" if is_none else "accepted"
