"""The sound is as asked, measured back from the samples of the recording."""

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import find_peaks, lfilter, welch

from samples_synthetic.noise import breathing
from samples_synthetic.render import Mix, Placed, Sound, heard_part, render
from samples_synthetic.synthesiser import RATE


def burst(seed: int, seconds: float = 1.2) -> NDArray[np.int16]:
    """Something as loud and as broad as speech."""
    rng = np.random.default_rng(seed)
    wave = lfilter([1], [1, -0.9], rng.standard_normal(int(seconds * RATE)))
    return np.asarray(wave / np.abs(wave).max() * 12_000, dtype=np.int16)


def placed(channels: int = 1) -> list[Placed]:
    return [Placed(n % channels, int(2.5 * n * RATE), burst(n)) for n in range(6)]


def db(ratio: float | np.floating[Any]) -> float:
    return 10 * float(np.log10(ratio))


def scale_of(mix: Mix) -> float:
    """The one gain between the parts and the recording; fails if there is none."""
    parts = (mix.speech + mix.noise).ravel()
    recording = mix.recording.ravel() / 32767
    scale = float(parts @ recording / (parts @ parts))
    assert np.abs(recording - scale * parts).max() <= 0.51 / 32767
    return scale


@pytest.mark.parametrize("asked", [20.0, 10.0, 5.0, 0.0, -5.0])
def test_speech_over_noise_is_as_asked(asked: float) -> None:
    clean = render(placed(), 1, Sound(), seed=1)
    noisy = render(placed(), 1, Sound(asked), seed=1)
    active = noisy.active[:, 0]
    speech = clean.recording[:, 0] / 32767 / scale_of(clean) * scale_of(noisy)
    noise = noisy.recording[:, 0] / 32767 - speech
    measured = db(np.mean(speech[active] ** 2) / np.mean(noise**2))
    assert measured == pytest.approx(asked, abs=0.1)


def test_without_noise_the_gaps_are_silent() -> None:
    mix = render(placed(), 1, Sound(), seed=1)
    assert np.abs(mix.recording[int(1.5 * RATE) : int(2.2 * RATE)]).max() == 0


@pytest.mark.parametrize("hertz", [100.0, 6000.0])
def test_nothing_is_heard_outside_the_intercom_band(hertz: float) -> None:
    mix = render(placed(), 1, Sound(10.0), seed=1)
    frequency, power = welch(mix.recording[:, 0].astype(float), RATE, nperseg=2048)
    inside = power[(frequency > 400) & (frequency < 3000)].mean()
    outside = power[np.argmin(np.abs(frequency - hertz))]
    assert db(outside / inside) < -30


def test_cross_talk_is_weaker_by_what_was_asked() -> None:
    mix = render(placed(2), 2, Sound(cross_talk=20.0), seed=1)
    own, leaked = mix.speech[mix.active[:, 0]].T
    assert db(np.mean(own**2) / np.mean(leaked**2)) == pytest.approx(20.0, abs=0.01)


def test_clipping_flattens_the_loudest_samples_and_only_these() -> None:
    whole = render(placed(), 1, Sound(), seed=1).recording
    clipped = render(placed(), 1, Sound(clip=6.0), seed=1).recording
    at_peak = [int((np.abs(r) == np.abs(r).max()).sum()) for r in (whole, clipped)]
    assert at_peak[0] <= 2
    assert at_peak[1] > 100


def test_breaths_come_fourteen_times_a_minute() -> None:
    wave = breathing(4 * 60 * RATE, np.random.default_rng(5))
    tenths = np.sqrt(np.mean(wave.reshape(-1, RATE // 10) ** 2, axis=1))
    breaths, _ = find_peaks(np.convolve(tenths, np.ones(9) / 9, "same"), prominence=0.3)
    assert len(breaths) / 4 == pytest.approx(14, abs=1)


def test_the_same_seed_gives_the_same_samples_and_another_seed_others() -> None:
    one, same, other = (render(placed(), 1, Sound(5.0), seed=s).recording for s in (1, 1, 2))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)


@pytest.mark.parametrize("hertz", [120.0, 5500.0])
def test_sound_outside_the_band_before_the_words_is_not_heard(hertz: float) -> None:
    murmur = 600 * np.sin(2 * np.pi * hertz / RATE * np.arange(RATE // 5))
    clip = np.concatenate([murmur, burst(1), murmur]).astype(np.int16)
    first, last = heard_part(clip)
    assert first == pytest.approx(len(murmur), abs=RATE / 50)
    assert last == pytest.approx(len(clip) - len(murmur), abs=RATE / 50)
