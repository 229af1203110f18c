"""Hum and fan, measured back from their spectra."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import periodogram, welch

from samples_synthetic.machinery import fan, hum
from samples_synthetic.synthesiser import RATE


@pytest.mark.parametrize("mains", [50.0, 60.0])
def test_hum_is_the_mains_and_its_harmonics_as_of_a_sawtooth(mains: float) -> None:
    """A sawtooth's nth harmonic has an amplitude of 1/n of the first (its Fourier series)."""
    wave = hum(2 * RATE, np.random.default_rng(1), mains)
    frequency, power = periodogram(wave, RATE, scaling="spectrum")
    lines = frequency[power > power.max() * 1e-4]
    assert np.all(lines % mains == 0)
    amplitude = np.sqrt(power[np.isin(frequency, lines)])
    assert amplitude / amplitude[0] == pytest.approx(1 / (lines / mains), rel=1e-6)
    assert lines[0] == mains
    assert lines[-1] == 3000


def test_a_fan_rushes_level_up_to_600_hertz_and_falls_by_9_decibels_an_octave() -> None:
    wave = fan(60 * RATE, np.random.default_rng(1))
    frequency, power = welch(wave, RATE, nperseg=RATE)

    def level(low: float, high: float) -> float:
        band = (frequency > low) & (frequency < high)
        return 10 * float(np.log10(np.median(power[band])))

    assert level(200, 300) - level(400, 550) == pytest.approx(0, abs=0.7)
    assert level(1900, 2100) - level(3800, 4200) == pytest.approx(9, abs=0.5)


def test_a_fan_sounds_with_its_blades() -> None:
    frequency, power = welch(fan(60 * RATE, np.random.default_rng(1)), RATE, nperseg=RATE)
    tones = {frequency[np.argsort(power)[-n]] for n in range(1, 4)}
    assert tones == {172.0, 344.0, 516.0}


@pytest.mark.parametrize("make", [lambda rng: hum(RATE, rng, 50.0), lambda rng: fan(RATE, rng)])
def test_mean_power_is_one_and_the_seed_decides(
    make: Callable[[np.random.Generator], NDArray[np.float64]],
) -> None:
    one, same, other = (make(np.random.default_rng(seed)) for seed in (1, 1, 2))
    assert np.mean(one**2) == pytest.approx(1)
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)
