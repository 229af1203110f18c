"""`python -m tests.bench unlisted`: is speech that no sheet lists taken for one of its phrases?

The evidence of the best reading of each segment, as the recogniser gives it, before the order of
the run is known. Listed: segments of run-m, run-n and run-o, or of those chosen, whose phrase is
among the readings. Unlisted: sentences of plain English from Python's language reference by the
same REPORT voices, with the compressor's noise and breathing at the same level, a kind that
constants were set on; seeds, voices and sentences are of nothing else. The threshold is where 95 of
100 listed segments are accepted.
"""

import argparse
import random
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from rich import box
from rich.console import Console
from rich.table import Table

from samples_synthetic.adaptation.lines import prose
from samples_synthetic.clips import speak_all
from samples_synthetic.recording import CONDITIONS, Condition
from samples_synthetic.render import Placed, Sound, render
from samples_synthetic.synthesiser import RATE, Line
from samples_synthetic.voices import REPORT
from tests.bench.accuracy import parse_conditions
from tests.bench.fit import choices_of
from tests.bench.runs import CACHE, MODEL, ROOT, RUNS, SCENARIOS, say
from voxlog.audio.recording import open_recording
from voxlog.audio.segment import Segment
from voxlog.audio.segmenting import segments
from voxlog.audit.interval import wilson
from voxlog.sheet.load import load_sheet
from voxlog.sheet.phrases import sheet_phrases
from voxlog.speech.evidence import FITTED
from voxlog.speech.listen import side_by_side
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model
from voxlog.speech.recognise import Recogniser

__all__ = ["accepted", "add_options", "main", "threshold_of"]

Floats = NDArray[np.float64]

SHEET = ROOT / "grammars" / "hypoxia-25.yaml"
SEED = 60_217
ACCEPTED = 0.95
_PAUSE_S = (1.0, 2.0)


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--only", default="10", metavar="LIST", help=f"of {', '.join(CONDITIONS)}")
    parser.add_argument("--sentences", type=int, default=150, help="of plain English")
    parser.add_argument(
        "--scenarios", default=",".join(SCENARIOS), metavar="LIST", help="listed speech"
    )
    parser.add_argument("--runs", type=Path, default=RUNS, metavar="DIR", help="rendered set")


def main(options: argparse.Namespace) -> None:
    """Read everything, and print how much that is not listed is accepted."""
    table = Table(box=box.SIMPLE_HEAD, title=f"Speech that the sheet does not list, {MODEL}")
    for name in ("Noise", "Listed", "Threshold, nats", "Unlisted", "Accepted", "95 %", "Above 0"):
        table.add_column(name, justify="right")
    for condition in parse_conditions(options.only):
        listed, unlisted = _evidence(options, condition)
        threshold = threshold_of(listed)
        count, total = accepted(unlisted, threshold), len(unlisted)
        low, high = wilson([count], [total])
        table.add_row(
            condition,
            f"{len(listed)}",
            f"{threshold:.1f}",
            f"{total}",
            f"{count / total:.3f} ({count})",
            f"{low[0]:.3f} to {high[0]:.3f}",
            f"{accepted(listed, 0.0) / len(listed):.3f}, {accepted(unlisted, 0.0) / total:.3f}",
        )
    Console(width=100, highlight=False).print(table)


def threshold_of(listed: Floats) -> float:
    """The evidence that at least 95 of 100 listed segments come up to."""
    return float(np.quantile(listed, 1 - ACCEPTED, method="lower"))


def accepted(evidence: Floats, threshold: float) -> int:
    """How many segments have at least so much evidence."""
    return int((evidence >= threshold).sum())


def _evidence(options: argparse.Namespace, condition: Condition) -> tuple[Floats, Floats]:
    """The best reading's evidence of listed and of unlisted segments."""
    names = options.scenarios.split(",")
    choices = [one for name in names for one in choices_of(options.runs, name, (condition,))]
    listed = [float((one.marks @ np.array(FITTED)).max()) for one in choices if one.right]
    return np.array(listed), np.array([*_of_prose(options.sentences, condition)])


def _of_prose(count: int, condition: Condition) -> Iterator[float]:
    say(f"{count} sentences, {condition}")
    model = SpeechModel(find_model(MODEL, CACHE), 2)
    recogniser = Recogniser(model, sheet_phrases(load_sheet(SHEET)), CACHE)

    def hear(segment: Segment, audio: NDArray[np.float32]) -> float:
        _, readings = recogniser.read(segment, audio)
        return max(reading.evidence for reading in readings)

    with tempfile.TemporaryDirectory() as folder:
        audio = Path(folder) / "prose.flac"
        over = None if condition == "clean" else float(condition)
        sound = render(_spoken(count), 1, Sound(over), SEED).recording
        soundfile.write(audio, sound, RATE, subtype="PCM_16")
        for _, _, evidence in side_by_side(hear, segments(open_recording([audio]))):
            yield evidence


def _spoken(count: int) -> list[Placed]:
    rng = random.Random(SEED)
    sentences = rng.sample(sorted({*prose()}), count)
    lines = [Line(REPORT[n % len(REPORT)], 1.1, text) for n, text in enumerate(sentences)]
    clips = speak_all(lines, lambda done, of: None)
    placed, at = [], RATE
    for line in lines:
        placed.append(Placed(0, at, clips[line]))
        at += len(clips[line]) + int(rng.uniform(*_PAUSE_S) * RATE)
    return placed
