"""Whole practice runs against their truth, clearly heard: what the follower itself gets wrong.

The generator of the practice recordings writes who says what and when, with its deviations, and
what is true of it. Here nobody speaks it: each line is heard as it was written.
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import chain
from pathlib import Path

import pytest

from samples_synthetic.scenario import load_scenario
from samples_synthetic.script import Said
from samples_synthetic.timeline import Spoken, lay_out
from samples_synthetic.truth import true_events
from samples_synthetic.walk import write_script
from tests.follow.scenario import Listed, as_heard
from voxlog.follow.follower import follow
from voxlog.score.score import Scores, score
from voxlog.sheet.load import load_sheet
from voxlog.sheet.phrases import sheet_phrases
from voxlog.speech import vocabulary
from voxlog.speech.utterance import Utterance
from voxlog.speech.vocabulary import sayables

ROOT = Path(__file__).parents[2]
RUNS = sorted((ROOT / "samples_synthetic" / "scenarios").glob("*.yaml"))
END = 5000.0

Line = tuple[float, float, str]
"""Start, end and words."""


def seconds_of(said: Said) -> float:
    return 0.3 + 0.06 * len(said.text)


@pytest.fixture(scope="module", autouse=True)
def every_form() -> Iterator[None]:
    """A number is heard in whatever form it was said."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(vocabulary, "FORMS_PER_VALUE", 99)
        yield


@cache
def listed(name: str) -> Listed:
    sheet = load_sheet(ROOT / "grammars" / f"{name}.yaml")
    phrases = sheet_phrases(sheet)
    return Listed(sheet, phrases, tuple(sayables(phrases)))


def utterances_of(spoken: Spoken, known: Listed) -> Iterator[Utterance]:
    """A count is one utterance with pauses in it; "X, correction, Y" is three."""
    lines = [
        (start, end, said.text)
        for said, start, end in zip(spoken.beat.said, spoken.starts, spoken.ends, strict=True)
    ]
    if any(row.kind == "cue" for row in spoken.beat.rows):
        count = [line for line in lines if len(line[2].split()) == 1]
        yield from (utterance([line], known) for line in lines if line not in count)
        yield utterance(count, known)
        return
    for line in chain.from_iterable(map(parts, lines)):
        yield utterance([line], known)


def parts(line: Line) -> list[Line]:
    start, end, words = line
    pieces = [piece.strip(" ,") for piece in words.split("correction")]
    if len(pieces) == 1:
        return [line]
    third = (end - start) / 3
    texts = (pieces[0], "correction", pieces[1])
    return [(start + n * third, start + (n + 1) * third, text) for n, text in enumerate(texts)]


def utterance(lines: list[Line], known: Listed) -> Utterance:
    words = " ".join(line[2] for line in lines)
    return Utterance(
        channel=0,
        start=lines[0][0],
        end=lines[-1][1],
        bursts=tuple((start, end) for start, end, _ in lines),
        text=words,
        heard=as_heard(known.heard_as(words)),
    )


def rehearsed(path: Path, seed: int) -> Scores:
    """seed: added to the scenario's own."""
    scenario = load_scenario(path)
    scenario = replace(scenario, seed=scenario.seed + seed)
    known = listed(scenario.sheet.id)
    spoken = lay_out(write_script(scenario), seconds_of)
    said = [one for beat in spoken if beat.beat.said for one in utterances_of(beat, known)]
    said.sort(key=lambda one: one.start)
    log = follow(said, known.sheet, known.phrases, END)
    return score(log, true_events(scenario.sheet, spoken, length=END))


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (1000, 6000))]
)
@pytest.mark.parametrize("path", RUNS, ids=lambda path: path.stem)
def test_a_run_that_is_heard_clearly_is_logged_right(path: Path, seed: int) -> None:
    """No finding missed and none false, with the scenario's own seed and with others."""
    scores = rehearsed(path, seed)
    assert scores.findings.hits > 0
    assert not scores.differences
    assert scores.item_status.share == 1
    assert scores.values.share == 1
