"""What is reported was never used to set a constant."""

from functools import cache
from pathlib import Path

import pytest

from samples_synthetic.scenario import DEVIATIONS, load_scenario
from samples_synthetic.setting import SETTINGS
from samples_synthetic.voices import REPORT
from samples_synthetic.walk import write_script
from tests.bench.runs import ROOT
from tests.bench.unseen import SCRIPTS, SHEETS, scripts_of

OTHERS = [
    *sorted((ROOT / "samples_synthetic" / "scenarios").glob("*.yaml")),
    *sorted(SHEETS.glob("certainty-*.yaml")),
]


_loaded = cache(load_scenario)


@pytest.fixture(params=SCRIPTS)
def script(request: pytest.FixtureRequest) -> Path:
    return SHEETS / f"{request.param}.yaml"


def test_only_report_voices_speak(script: Path) -> None:
    assert {cast.voice for cast in load_scenario(script).cast.values()} <= set(REPORT)


def test_sheet_and_seed_are_those_of_no_other_recording(script: Path) -> None:
    scenario = load_scenario(script)
    for path in OTHERS:
        other = _loaded(path)
        assert scenario.seed != other.seed
        assert scenario.sheet.id != other.sheet.id
        theirs = {text for item in other.sheet.items for text in item.ask}
        assert not theirs & {text for item in scenario.sheet.items for text in item.ask}


def test_a_deviation_of_every_kind_is_planted() -> None:
    """But a phase left out, after which nothing of it could be measured."""
    scenarios = [load_scenario(SHEETS / f"{script}.yaml") for script in SCRIPTS]
    assert all(write_script(each).beats for each in scenarios)  # InputError for one without a place
    planted = {plant.what for each in scenarios for plant in each.plants}
    assert set(DEVIATIONS) - planted == {"skip-phase"}


def test_every_setting_has_scripts_and_most_have_all() -> None:
    have = [scripts_of(name) for name in SETTINGS]
    assert all(len(each) >= 2 for each in have)
    assert have.count(SCRIPTS) > len(have) / 2
