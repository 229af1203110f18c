"""Who spoke on a mixed channel: how well voices are told apart, and self-answered items found.

Trials. Each true line of a run is compared with each voice that was known before it. The score is
the voice's likelihood over that of the likeliest other one; it is a same-voice trial where the
voice is that of the line, otherwise an other-voice trial. The equal error rate is where as large a
share of same-voice trials is rejected as of other-voice trials is accepted (the crossing of the
detection error trade-off curve with its diagonal; the mean of the two shares at the nearest
threshold). Beside it stands that of a speaker network, where its package is installed: pairs of
lines by cosine, and its vectors in place of voxlog's own in the very same method.

Planted. In each scenario every fifteenth item or so that has no other deviation is answered by the
voice that asked it; the recording is logged as always.

The factor of voxlog/speaker/voices.py is set with --fit, on the voices of the fit-* scenarios.
"""

import argparse
import re
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.table import Table

from samples_synthetic.recording import CONDITIONS, Condition, spoken_lines, write_recording
from samples_synthetic.scenario import Plant, Scenario, load_scenario
from tests.bench.network import network
from tests.bench.runs import ROOT, RUNS, bench_runs, log_run, say
from voxlog.audio.recording import open_recording
from voxlog.follow.event import Event
from voxlog.log.table import read_table
from voxlog.score.matching import match_rows
from voxlog.sheet.parts import Item
from voxlog.speaker.voiceprint import decoded, voiceprint
from voxlog.speaker.voices import UNKNOWN, Line, voices_of

__all__ = ["add_options", "equal_error_rate", "main", "with_own_answers"]

Doubles = NDArray[np.float64]

RATE = 16_000
_NAMES = ("run-a", "run-b", "run-c", "run-d", "run-e", "run-f")
_FIT = ("fit-a", "fit-b")
_EVERY = 15
_ASKER = "conductor"  # of the sheet that all scenarios have
_COLLAR_S = 1.0
_EDGE_S = 0.05  # of silence around a synthetic clip
_LENGTHS = (("under 0.7 s", 0.0, 0.7), ("0.7 to 1.2 s", 0.7, 1.2), ("over 1.2 s", 1.2, 99.0))
_VOICE = re.compile(r"voice of the ([\w-]+)")


class Trials(NamedTuple):
    """Scores of same-voice and other-voice trials."""

    same: Doubles
    other: Doubles


class Spoken(NamedTuple):
    """A true line with its sound."""

    position: str
    sound: NDArray[np.float32]


class Planted(NamedTuple):
    """What came of a run with planted answers."""

    planted: int
    found: int
    false: int
    named: int
    named_right: int
    answered: int


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of `python -m tests.bench speakers`."""
    parser.add_argument("--runs", type=Path, default=RUNS, help="folder of rendered runs")
    parser.add_argument("--only", help="conditions, as in clean,10")
    parser.add_argument("--names", help="scenarios, as in run-a,run-d")
    parser.add_argument("--fit", action="store_true", help="the factor, on the fit-* scenarios")
    parser.add_argument("--trials", action="store_true", help="only compare voices, log nothing")


def main(options: argparse.Namespace) -> None:
    """Print the tables."""
    conditions = tuple(c for c in CONDITIONS if not options.only or c in options.only.split(","))
    names = _FIT if options.fit else tuple(options.names.split(",")) if options.names else _NAMES
    console = Console()
    if options.fit:
        console.print(f"factor {_fitted(options.runs, names, conditions):.2f}")
    console.print(_trial_table(options.runs, names, conditions))
    if not options.trials:
        console.print(_planted_table(options.runs, names, conditions))


def equal_error_rate(trials: Trials) -> float:
    """Share of errors where as many same-voice trials are rejected as others accepted."""
    thresholds = np.sort(np.concatenate(trials))
    rejected = np.searchsorted(np.sort(trials.same), thresholds, "left") / len(trials.same)
    accepted = 1 - np.searchsorted(np.sort(trials.other), thresholds, "left") / len(trials.other)
    nearest = int(np.argmin(abs(rejected - accepted)))
    return float(rejected[nearest] + accepted[nearest]) / 2


def with_own_answers(scenario: Scenario) -> Scenario:
    """Every fifteenth item, or the next one that has nothing else, answered by who asks."""
    items = scenario.sheet.items
    taken = {plant.at for plant in scenario.plants}
    ties = {p.at for p in scenario.plants if p.what in ("swap", "one-breath")}
    # The item after a tied one is done with it, and a hold does items again.
    taken |= {after.key for item, after in pairwise(items) if item.key in ties}
    skipped = {p.at for p in scenario.plants if p.what == "skip-phase"}
    phases = {s.step.key: s.phase.id for s in scenario.sheet.steps if isinstance(s.step, Item)}
    plants = list(scenario.plants)
    since = 0
    for item in items:
        since += 1
        is_free = item.key not in taken and phases[item.key] not in skipped
        if since >= _EVERY and is_free and item.by != scenario.sheet.asks:
            plants.append(Plant(what="self-answered", at=item.key))
            since = 0
    return replace(scenario, plants=tuple(plants))


@cache
def _scenario(name: str) -> Scenario:
    return load_scenario(ROOT / "samples_synthetic" / "scenarios" / f"{name}.yaml")


@cache
def _lines(name: str) -> list[tuple[float, float, str, str]]:
    say(f"{name}: its lines")
    return spoken_lines(_scenario(name), lambda done, of: None)


def _spoken(runs: Path, name: str, condition: Condition) -> list[Spoken]:
    (run,) = bench_runs(runs, [condition], [name])
    recording = open_recording([run.audio])
    sound = np.concatenate([block[0] for block in recording.blocks()])
    return [
        Spoken(who, sound[round((start + _EDGE_S) * RATE) : round((end - _EDGE_S) * RATE)])
        for start, end, who, _ in _lines(name)
    ]


def _own(spoken: Sequence[Spoken]) -> list[tuple[Line, float]]:
    """voxlog's own voices, with the seconds of each line."""
    prints = [(one, voiceprint([one.sound])) for one in spoken]
    return [
        (Line(one.position, _bytes(decoded(p)), is_clear=True), _seconds(one))
        for one, p in prints
        if p
    ]


def _of_network(spoken: Sequence[Spoken]) -> list[tuple[Line, float]]:
    embed = network()
    if embed is None:
        return []
    vectors = embed([one.sound for one in spoken])
    return [
        (Line(one.position, _bytes(vector), is_clear=True), _seconds(one))
        for one, vector in zip(spoken, vectors, strict=True)
    ]


def _bytes(vector: Doubles) -> bytes:
    return vector.astype(np.float64).tobytes()


def _numbers(voice: bytes) -> Doubles:
    return np.frombuffer(voice, np.float64)


def _seconds(one: Spoken) -> float:
    return len(one.sound) / RATE


def _trials(lines: Sequence[tuple[Line, float]], low: float = 0.0, high: float = 99.0) -> Trials:
    same, other = [], []
    voices = voices_of([line for line, _ in lines], _ASKER, 1.0, _numbers)
    for (line, seconds), shares in zip(lines, voices, strict=True):
        if low <= seconds < high:
            for position in shares.keys() - {UNKNOWN}:
                score = _over_the_rest(shares, position)
                (same if position == line.position else other).append(score)
    return Trials(np.array(same), np.array(other))


def _over_the_rest(shares: Mapping[str, float], position: str) -> float:
    logs = {name: np.log(share + 1e-300) for name, share in shares.items()}
    return float(logs[position] - max(log for name, log in logs.items() if name != position))


def _pairs(lines: Sequence[tuple[Line, float]]) -> Trials:
    """Every two lines, by the cosine of their vectors."""
    vectors = np.array([_numbers(line.voice) for line, _ in lines])
    vectors /= np.linalg.norm(vectors, axis=1, keepdims=True)
    who = np.array([line.position for line, _ in lines])
    pairs = np.triu_indices(len(who), 1)
    is_same = (who[:, None] == who)[pairs]
    cosines = (vectors @ vectors.T)[pairs]
    return Trials(cosines[is_same], cosines[~is_same])


def _together(every: Iterable[Trials]) -> Trials:
    same, other = zip(*every, strict=True)
    return Trials(np.concatenate(same), np.concatenate(other))


def _trial_table(runs: Path, names: Sequence[str], conditions: Sequence[Condition]) -> Table:
    table = Table(title=f"Equal error rate, {', '.join(names)}")
    lengths = [text for text, _, _ in _LENGTHS]
    for heading in ("speech over noise", "lines", "all", *lengths, "network", "its pairs"):
        table.add_column(heading, justify="right")
    for condition in conditions:
        spoken = [_spoken(runs, name, condition) for name in names]
        own = [_own(one) for one in spoken]
        cells = [_rate(_together(map(_trials, own)))]
        for _, low, high in _LENGTHS:
            cells.append(_rate(_together(_trials(one, low, high) for one in own)))
        others = [lines for lines in map(_of_network, spoken) if lines]
        cells.append(_rate(_together(map(_trials, others))) if others else "-")
        cells.append(_rate(_together(map(_pairs, others))) if others else "-")
        table.add_row(condition, str(sum(map(len, own))), *cells)
    return table


def _rate(trials: Trials) -> str:
    if not len(trials.same) or not len(trials.other):
        return "-"
    return f"{equal_error_rate(trials):.3f} ({len(trials.same)}, {len(trials.other)})"


def _fitted(runs: Path, names: Sequence[str], conditions: Sequence[Condition]) -> float:
    """The factor under which the true voices are likeliest."""
    lines = [_own(_spoken(runs, name, condition)) for name in names for condition in conditions]

    def unlikeliness(factor: float) -> float:
        shares = [
            voices[line.position]
            for each in lines
            for (line, _), voices in zip(
                each, voices_of([o for o, _ in each], _ASKER, factor, _numbers), strict=True
            )
            if line.position in voices
        ]
        return float(-np.log(np.array(shares) + 1e-12).mean())

    return min(np.arange(0.05, 1.05, 0.05), key=unlikeliness)


def _planted_table(runs: Path, names: Sequence[str], conditions: Sequence[Condition]) -> Table:
    table = Table(title=f"Answers planted in the voice that asked, {', '.join(names)}")
    for heading in ("speech over noise", "planted", "found", "false", "of answered"):
        table.add_column(heading, justify="right")
    for heading in ("voice named", "rightly", "voices, ms a line", "of the time"):
        table.add_column(heading, justify="right")
    for condition in conditions:
        made, lines, spent, whole = [], 0, 0.0, 0.0
        for name in names:
            audio, truth = _made(runs, name, condition)
            say(f"{name} {condition}: logging")
            begun = time.process_time()
            result = log_run(audio, Path(_scenario(name).sheet.file))
            whole += time.process_time() - begun
            made.append(_planted(truth, result.events))
            spoken = _spoken(runs, name, condition)
            begun = time.process_time()
            voices_of([line for line, _ in _own(spoken)], _ASKER, numbers=_numbers)
            spent += time.process_time() - begun
            lines += len(spoken)
        every = Planted(*map(sum, zip(*made, strict=True)))
        counts = (every.planted, every.found, every.false, every.answered, every.named)
        right = f"{every.named_right / max(1, every.named):.3f}"
        cost = (f"{spent / lines * 1000:.2f}", f"{spent / whole:.1%}")
        table.add_row(condition, *map(str, counts), right, *cost)
    return table


def _made(runs: Path, name: str, condition: Condition) -> tuple[Path, list[Event]]:
    place = runs / f"{name}-self-answered-{condition}"
    if not (place / "scenario.yaml").is_file():
        say(f"{place.name}: rendering")
        write_recording(with_own_answers(_scenario(name)), place, condition, lambda done, of: None)
    return place / "audio.flac", read_table(place / "truth.csv")


def _planted(truth: Sequence[Event], log: Sequence[Event]) -> Planted:
    pairs = [(p.truth, p.log) for p in match_rows(log, truth, _COLLAR_S) if p.truth and p.log]
    named = [(true, found) for true, row in pairs for found in _VOICE.findall(row.note)]
    flagged = [row for row in log if "self-answered" in row.flags]
    hits = sum(
        "self-answered" in true.flags and "self-answered" in row.flags for true, row in pairs
    )
    return Planted(
        planted=sum("self-answered" in row.flags for row in truth),
        found=hits,
        false=len(flagged) - hits,
        named=len(named),
        named_right=sum(found == _who(true) for true, found in named),
        answered=sum(row.kind == "item" and row.status in ("confirmed", "negative") for row in log),
    )


def _who(true: Event) -> str:
    return _ASKER if "self-answered" in true.flags else true.position
