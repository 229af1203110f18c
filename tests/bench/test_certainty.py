"""How sure a row is, is set on what is never reported; and the weights are those of the rows."""

from pathlib import Path

import numpy as np
import pytest

from samples_synthetic.scenario import load_scenario
from samples_synthetic.setting import SETTINGS
from samples_synthetic.voices import FIT
from tests.bench.certainty import SCRIPTS, SHEETS, Seen, fit
from tests.bench.disturbance import DISTURBANCES
from tests.bench.reliability import Judged
from voxlog.follow.certainty import (
    CLEAREST,
    MOST_S,
    SHORTEST_STEP_S,
    SUREST,
    WEIGHTS,
    Signs,
    Weights,
    certainty,
)


@pytest.mark.parametrize("script", SCRIPTS)
def test_only_fit_voices_speak(script: str) -> None:
    scenario = load_scenario(SHEETS / f"{script}.yaml")
    assert {cast.voice for cast in scenario.cast.values()} <= set(FIT)
    assert Path(scenario.sheet.file).stem in ("ferry", "lock", "mill")


def test_no_disturbance_is_a_setting_that_is_reported() -> None:
    reported = {name: setting for name, setting in SETTINGS.items() if name != "clean"}
    for name, disturbance in DISTURBANCES.items():
        assert disturbance.change or disturbance.setting not in reported.values(), name
        # These two kinds are in no fitting at all.
        assert not disturbance.setting.is_squelched
        assert disturbance.setting.hum is None


def test_the_fit_finds_the_weights_that_made_the_rows() -> None:
    rng = np.random.default_rng(7)
    made = dict.fromkeys(WEIGHTS, Weights(0.7, 0.5, -0.4, -1.0, 0.1, 0.3))
    seen = []
    for claim in WEIGHTS:
        for _ in range(6000):
            most = (MOST_S, 1, CLEAREST, SHORTEST_STEP_S)
            spans = ((-SUREST, SUREST), *((0, each) for each in most))
            signs = Signs(claim, *(float(rng.uniform(*span)) for span in spans))
            is_right = bool(rng.random() < certainty(signs, made))
            seen.append(Seen("", "", signs, Judged(("item", "all"), 0.5, is_right)))
    fitted = fit(seen)
    for row in seen[::50]:
        assert certainty(row.signs, fitted) == pytest.approx(certainty(row.signs, made), abs=0.1)
