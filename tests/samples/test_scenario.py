"""Scenario files: errors name the line, and the shipped set covers what it must."""

from collections import Counter
from pathlib import Path

import pytest

from samples_synthetic.scenario import DEVIATIONS, load_scenario
from samples_synthetic.voices import FIT, REPORT
from tests.samples.rehearse import ROOT, SCENARIO, rehearse, write_scenario
from voxlog.errors import InputError

SHIPPED = sorted((ROOT / "samples_synthetic" / "scenarios").glob("*.yaml"))


@pytest.mark.parametrize(
    ("plant", "words"),
    [
        ("skip: 99", r":10: skip needs a item, not '99'"),
        ("off-limit: 1", r":10: off-limit needs a value item, not '1'; such as 2, 9"),
        ("misread: climb 7000", r"misread needs a read-back.*climb 5000"),
        ("juggle: 3", r":10: plant.0.what: Input should be 'skip'"),
        ("[skip, 3]", r":10: plant.0: write one deviation as `name: place`"),
        ("hold: {at: 5, resume: 9}", r":10: hold needs `resume:`"),
        ("chatter: {at: 5}", r":10: chatter needs `say:`"),
        ("off-limit-reading: {at: 5, reading: mood}", r":10: off-limit-reading needs `reading:`"),
    ],
)
def test_a_bad_deviation_is_named_with_its_line(plant: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=words):
        load_scenario(write_scenario(tmp_path, plant))


@pytest.mark.parametrize(
    ("written", "instead", "words"),
    [
        ("bf_emma", "bf_nobody", r":5: no voice 'bf_nobody'; use one of af_bella"),
        ("  monitor: {voice: af_heart}\n", "", r"cast lacks monitor; give each a voice"),
        ("seed: 3", "seed: three", r":3: seed: Input should be a valid integer"),
        ("seed: 3", "speed: 3", r"speed: Extra inputs are not permitted"),
        ("demo.yaml", "none.yaml", r"none.yaml: no such file"),
        ("cast:", "cast: *who", r"alias \*who is not allowed"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(
    written: str, instead: str, words: str, tmp_path: Path
) -> None:
    path = tmp_path / "scenario.yaml"
    path.write_text(SCENARIO.replace(written, instead) + "  - skip: 4\n", encoding="utf-8")
    with pytest.raises(InputError, match=words) as caught:
        load_scenario(path)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_scenario_can_be_written_as_a_script(path: Path) -> None:
    assert rehearse(path)


def test_measuring_runs_plant_every_deviation_twice_and_fitting_runs_once() -> None:
    times = {"run": Counter[str](), "fit": Counter[str]()}
    for path in SHIPPED:
        if path.stem != "demo":
            plants = load_scenario(path).plants
            times[path.stem.split("-")[0]].update(plant.what for plant in plants)
    # Answers in the wrong voice are planted by the measurement of voices (tests/bench/speakers.py).
    shipped = DEVIATIONS.keys() - {"self-answered"}
    assert {what for what in shipped if times["run"][what] < 2} == set()
    assert {what for what in shipped if times["fit"][what] < 1} == set()


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_voices_that_set_constants_never_measure(path: Path) -> None:
    allowed = FIT if path.stem.startswith("fit") else REPORT
    assert {cast.voice for cast in load_scenario(path).cast.values()} <= set(allowed)
