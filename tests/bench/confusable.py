"""`python -m tests.bench confusable`: readings that sound alike, at four levels of noise.

REPORT voices, one a recording, say "heart rate" and a number, on a sheet (`sheets/readings.yaml`)
whose limits exclude no number from 0 to 99, so that only the sound tells. Thirteen to nineteen,
thirty to ninety, five and nine are said by every voice, all other two-digit numbers by every second
one. Noise is the compressor's and breathing, with seeds of no other recording.

A reading is right if the row at its time has its value; wrong and sure if that has another and is
not flagged uncertain. Shares are of all readings said, so one that has no row is neither right nor
wrong and sure. 95 % intervals: Wilson 1927.
"""

import argparse
import tempfile
from collections.abc import Iterable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
import soundfile
from num2words import num2words
from rich import box
from rich.console import Console
from rich.table import Table

from samples_synthetic.clips import speak_all
from samples_synthetic.recording import CONDITIONS, Condition
from samples_synthetic.render import Placed, Sound, heard_part, render
from samples_synthetic.synthesiser import RATE, Line
from samples_synthetic.voices import REPORT
from tests.bench.accuracy import parse_conditions
from tests.bench.runs import MODEL, log_run, say
from voxlog.audit.interval import wilson
from voxlog.follow.event import Event

__all__ = ["Reading", "add_options", "heard_of", "main", "numbers_of"]

SHEET = Path(__file__).with_name("sheets") / "readings.yaml"
SEED = 55_103
ALIKE = ((5, 9), *((teen, 10 * (teen - 10)) for teen in range(13, 20)))
_PAUSE_S = (1.8, 2.6)


class Said(NamedTuple):
    """A number as spoken in a recording, between two times in seconds."""

    value: int
    start: float
    end: float


class Reading(NamedTuple):
    """A number said, and the row at its time: its value, and whether it is flagged uncertain."""

    said: int
    heard: float | None
    is_uncertain: bool = False

    @property
    def is_right(self) -> bool:
        return self.heard == self.said

    @property
    def is_wrong_and_sure(self) -> bool:
        return self.heard is not None and not self.is_right and not self.is_uncertain


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--only", default=",".join(CONDITIONS), metavar="LIST", help="conditions, as clean,10"
    )
    parser.add_argument("--voices", type=int, default=len(REPORT), help="how many voices")
    parser.add_argument("--model", default=MODEL, help="name or folder of the speech model")


def main(options: argparse.Namespace) -> None:
    """Log every voice's readings under each condition, and print both tables."""
    conditions = parse_conditions(options.only)
    found: dict[Condition, list[Reading]] = {condition: [] for condition in conditions}
    for index, voice in enumerate(REPORT[: options.voices]):
        for condition in conditions:
            say(f"{voice} {condition}: {options.model}")
            found[condition] += _readings(index, voice, condition, options.model)
    console = Console(width=120, highlight=False)
    console.print(_shares_table(options.model, found))
    console.print(_pairs_table(found))


def numbers_of(index: int) -> list[int]:
    """What the voice of this index says, in its own order."""
    alike = [number for pair in ALIKE for number in pair]
    others = [number for number in range(10, 100) if number not in alike]
    numbers = [*alike, *others[index % 2 :: 2]]
    np.random.default_rng((SEED, index)).shuffle(numbers)
    return numbers


def heard_of(said: Iterable[Said], log: Sequence[Event]) -> list[Reading]:
    """Each number with the reading that has most of its time in common, if any has some."""
    rows = [event for event in log if event.kind == "reading"]
    found = []
    for one in said:
        best = max(rows, key=lambda row: _common(one, row), default=None)
        if best is None or _common(one, best) <= 0:
            found.append(Reading(one.value, None))
        else:
            found.append(Reading(one.value, best.value, "uncertain" in best.flags))
    return found


def _common(said: Said, row: Event) -> float:
    return min(said.end, row.end) - max(said.start, row.start)


def _readings(index: int, voice: str, condition: Condition, model: str) -> list[Reading]:
    placed, said = _recital(index, voice)
    over = None if condition == "clean" else float(condition)
    mix = render(placed, 1, Sound(over), SEED + index)
    with tempfile.TemporaryDirectory() as folder:
        audio = Path(folder) / "audio.flac"
        soundfile.write(audio, mix.recording, RATE, subtype="PCM_16")
        return heard_of(said, log_run(audio, SHEET, model=model).events)


def _recital(index: int, voice: str) -> tuple[list[Placed], list[Said]]:
    numbers = numbers_of(index)
    words = {number: num2words(number).replace("-", " ") for number in numbers}
    lines = {number: Line(voice, 1.0, f"heart rate {words[number]}.") for number in numbers}
    clips = speak_all(lines.values(), lambda done, of: None)
    rng = np.random.default_rng((SEED, index, 1))
    placed, said, at = [], [], RATE
    for number in numbers:
        clip = clips[lines[number]]
        first, last = heard_part(clip)
        placed.append(Placed(0, at, clip))
        said.append(Said(number, (at + first) / RATE, (at + last) / RATE))
        at += len(clip) + int(rng.uniform(*_PAUSE_S) * RATE)
    return placed, said


def _shares_table(model: str, found: dict[Condition, list[Reading]]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, title=f"Readings that sound alike, {model}")
    for name in ("Noise", "Said", "Right", "No row", "Uncertain", "Wrong and sure", "95 %"):
        table.add_column(name, justify="left" if name == "Noise" else "right")
    for condition, readings in found.items():
        count = len(readings)
        sure = sum(one.is_wrong_and_sure for one in readings)
        low, high = wilson([sure], [count])
        table.add_row(
            condition if condition == "clean" else f"{condition} dB",
            f"{count}",
            f"{sum(one.is_right for one in readings) / count:.3f}",
            f"{sum(one.heard is None for one in readings) / count:.3f}",
            f"{sum(one.is_uncertain for one in readings) / count:.3f}",
            f"{sure / count:.4f} ({sure})",
            f"{low[0]:.4f} to {high[0]:.4f}",
        )
    return table


def _pairs_table(found: dict[Condition, list[Reading]]) -> Table:
    """Each pair: of those said, the share right; how many heard as the other, how many surely."""
    table = Table(
        box=box.SIMPLE_HEAD,
        title="Pairs: right / said, heard as the other, of these not flagged uncertain",
    )
    table.add_column("Pair")
    for condition in found:
        table.add_column(condition if condition == "clean" else f"{condition} dB", justify="right")
    for pair in ALIKE:
        table.add_row(f"{pair[0]} and {pair[1]}", *(_pair_cell(found[c], [pair]) for c in found))
    neighbours = list(pairwise(range(10, 100)))
    table.add_row("neighbours", *(_pair_cell(found[c], neighbours) for c in found))
    return table


def _pair_cell(readings: list[Reading], pairs: Sequence[tuple[int, int]]) -> str:
    numbers = {number for pair in pairs for number in pair}
    said = [one for one in readings if one.said in numbers]
    swapped = [one for one in said if one.heard is not None and _is_swap(one, pairs)]
    right = sum(one.is_right for one in said)
    return f"{right} / {len(said)}, {len(swapped)}, {sum(o.is_wrong_and_sure for o in swapped)}"


def _is_swap(one: Reading, pairs: Iterable[tuple[int, int]]) -> bool:
    return any({one.said, one.heard} == set(pair) for pair in pairs)
