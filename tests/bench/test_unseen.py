"""What is reported was never used to set a constant."""

from pathlib import Path

import pytest

from samples_synthetic.scenario import load_scenario
from samples_synthetic.voices import REPORT
from tests.bench.runs import ROOT
from tests.bench.unseen import SCRIPTS, SHEETS

OTHERS = [
    *sorted((ROOT / "samples_synthetic" / "scenarios").glob("*.yaml")),
    *sorted(SHEETS.glob("certainty-*.yaml")),
]


@pytest.fixture(params=SCRIPTS)
def script(request: pytest.FixtureRequest) -> Path:
    return SHEETS / f"{request.param}.yaml"


def test_only_report_voices_speak(script: Path) -> None:
    assert {cast.voice for cast in load_scenario(script).cast.values()} <= set(REPORT)


def test_sheet_and_seed_are_those_of_no_other_recording(script: Path) -> None:
    scenario = load_scenario(script)
    for path in OTHERS:
        other = load_scenario(path)
        assert scenario.seed != other.seed
        assert scenario.sheet.id != other.sheet.id
        theirs = {text for item in other.sheet.items for text in item.ask}
        assert not theirs & {text for item in scenario.sheet.items for text in item.ask}
