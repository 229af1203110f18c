"""Recordings under a setting, measured back from what they were summed of."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import lfilter

from samples_synthetic.render import Placed, Sound, render
from samples_synthetic.setting import SETTINGS, Setting, setting_of
from samples_synthetic.setting_mix import render_setting
from samples_synthetic.synthesiser import RATE
from voxlog.errors import InputError


def burst(seed: int, seconds: float = 1.2) -> NDArray[np.int16]:
    rng = np.random.default_rng(seed)
    wave = lfilter([1], [1, -0.9], rng.standard_normal(int(seconds * RATE)))
    return np.asarray(wave / np.abs(wave).max() * 12_000, dtype=np.int16)


PLACED = [Placed(0, int((1 + 2.5 * n) * RATE), burst(n)) for n in range(6)]
TALK = [burst(20, 2.0), burst(21, 3.0)]


def db(ratio: float) -> float:
    return 10 * float(np.log10(ratio))


@pytest.mark.parametrize(
    "setting",
    [
        Setting(over=10),
        Setting(over=3, noise="fan"),
        Setting(over=10, low_pass=1500),
        Setting(hum=50, hum_over=5),
    ],
)
def test_speech_is_over_what_is_under_it_by_as_much_as_asked(setting: Setting) -> None:
    mix = render_setting(PLACED, setting, seed=4)
    asked = setting.hum_over if setting.over is None else setting.over
    speech = float(np.mean(mix.speech[mix.active] ** 2))
    assert db(speech / float(np.mean(mix.noise**2))) == pytest.approx(asked, abs=0.01)


def test_a_clean_setting_is_the_clean_recording() -> None:
    clean = render(PLACED, 1, Sound(), 4).recording
    assert np.array_equal(render_setting(PLACED, Setting(), 4).recording, clean)


@pytest.mark.parametrize(("talk", "share"), [("crew", 1 / 3), ("people", 0.5)])
def test_other_talk_is_where_and_as_loud_as_it_should_be(talk: str, share: float) -> None:
    mix = render_setting(PLACED, Setting(talk=talk, talk_over=6), seed=4, talk=TALK)  # type: ignore[arg-type]
    loud = np.abs(mix.noise[:, 0]) > 1e-4
    both = np.count_nonzero(loud & mix.active[:, 0]) / np.count_nonzero(mix.active)
    assert both == pytest.approx(share, abs=0.2)
    speech = float(np.mean(mix.speech[mix.active] ** 2))
    assert db(speech / float(np.mean(mix.noise[loud] ** 2))) == pytest.approx(6, abs=0.5)


def test_talk_without_clips_is_refused() -> None:
    with pytest.raises(InputError, match=r"other talk \(people\): no clips"):
        render_setting(PLACED, Setting(talk="people"), seed=4)


def test_a_squelched_recording_is_silent_between_calls() -> None:
    mix = render_setting(PLACED, SETTINGS["squelch"], seed=4)
    assert not mix.recording[int(2.6 * RATE) : int(3.4 * RATE)].any()
    assert not mix.recording[:RATE].any()


def test_the_seed_decides() -> None:
    setting = setting_of("fan+squelch+hum-60+mask")
    one, same, other = (render_setting(PLACED, setting, s).recording for s in (1, 1, 2))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)
