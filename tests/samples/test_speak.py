"""Which clips a line is made of; the synthesiser is stood in for by silence of a known length."""

from collections.abc import Iterable

import numpy as np
import pytest

from samples_synthetic import speak as module
from samples_synthetic.clips import Clips
from samples_synthetic.scenario import load_scenario
from samples_synthetic.setting import Setting
from samples_synthetic.speak import ClipOf, speak
from samples_synthetic.synthesiser import RATE, Line
from samples_synthetic.walk import write_script
from tests.samples.rehearse import ROOT

SCENARIO = load_scenario(ROOT / "samples_synthetic" / "scenarios" / "demo.yaml")
SCRIPT = write_script(SCENARIO)
SAID = [said for beat in SCRIPT.beats for said in beat.said]


def of_so_many_words(lines: Iterable[Line], _progress: object) -> Clips:
    """As a speaker of 150 words a minute at speed 1 would say them."""
    return {
        line: np.ones(round(len(line.text.split()) * 0.4 * RATE / line.speed), np.int16)
        for line in lines
    }


@pytest.fixture(autouse=True)
def silent_speaker(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "speak_all", of_so_many_words)


def spoken(setting: Setting) -> ClipOf:
    return speak(SCENARIO, SCRIPT, setting, lambda done, of: None)


def words_a_minute(clip_of: ClipOf, position: str) -> float:
    own = {said.text: clip_of(said) for said in SAID if said.position == position}
    return 60 * sum(len(text.split()) for text in own) * RATE / sum(map(len, own.values()))


@pytest.mark.parametrize("rate", [120.0, 180.0, 240.0])
@pytest.mark.parametrize("position", ["conductor", "operator", "attendant"])
def test_everybody_speaks_at_the_rate_that_is_asked(rate: float, position: str) -> None:
    assert words_a_minute(spoken(Setting(rate=rate)), position) == pytest.approx(rate, rel=0.01)


def test_a_line_is_said_two_words_in_a_breath() -> None:
    said = next(one for one in SAID if len(one.text.split()) == 3)
    whole, broken = (spoken(s)(said) for s in (Setting(), Setting(breath_words=2)))
    pause = np.flatnonzero(broken == 0)
    assert len(pause) == int(0.35 * RATE)
    assert pause[0] / (len(broken) - len(pause)) == pytest.approx(2 / 3, abs=0.1)
    assert not (whole == 0).any()


def test_without_a_setting_every_line_is_one_clip_of_the_cast_s_own_voice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[Line] = []

    def listening(lines: Iterable[Line], progress: object) -> Clips:
        asked.extend(lines)
        return of_so_many_words(asked, progress)

    monkeypatch.setattr(module, "speak_all", listening)
    spoken(Setting())
    texts = {(said.position, f"{said.text}.") for said in SAID}
    voices = {SCENARIO.cast[position].voice for position, _ in texts}
    assert {line.text for line in asked} >= {text for _, text in texts}
    assert {line.voice for line in asked} == voices
    assert not any(line.accent for line in asked)
