"""What is heard under the speech on a chamber intercom: machinery and breathing.

Both are unscaled and band-limited by the caller; only their shape is decided here.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from samples_synthetic.synthesiser import RATE

__all__ = ["breathing", "compressor"]

_MACHINE_HZ = 49.2  # a four-pole motor's shaft speed on 50 Hz mains, with slip, twice over
_HARMONICS = range(6, 40)  # what the 300 Hz edge of the band leaves
_BREATHS_A_MINUTE = 14.0  # a quiet adult; the rate wanders by a tenth
_INHALED_PART = 0.4  # of a breath's time; the demand valve hisses only while it opens


def compressor(
    samples: int, rng: np.random.Generator, machine_hz: float = _MACHINE_HZ
) -> NDArray[np.float64]:
    """Pink noise with machine tones that beat slowly, of mean power 1."""
    pink = _pink(samples, rng)
    time = np.arange(samples) / RATE
    sway = 1 + 0.3 * np.sin(2 * np.pi * 0.7 * time + rng.uniform(0, 6.28))
    tones = np.zeros(samples)
    for harmonic in _HARMONICS:
        phase = rng.uniform(0, 2 * np.pi)
        tones += np.sin(2 * np.pi * machine_hz * harmonic * time + phase) / harmonic
    return _unit(_unit(pink) + 0.7 * _unit(tones * sway))


def breathing(
    samples: int, rng: np.random.Generator, breaths_a_minute: float = _BREATHS_A_MINUTE
) -> NDArray[np.float64]:
    """Bursts of valve hiss, one for each breath in, of mean power 1."""
    hiss = sosfilt(
        butter(2, (500, 2500), btype="bandpass", fs=RATE, output="sos"),
        rng.standard_normal(samples),
    )
    envelope = np.full(samples, 0.02)
    start = rng.uniform(0, 60 / breaths_a_minute)
    while start < samples / RATE:
        length = 60 / breaths_a_minute * rng.uniform(0.9, 1.1)
        first = int(start * RATE)
        last = min(samples, first + int(_INHALED_PART * length * RATE))
        envelope[first:last] += np.sin(np.linspace(0, np.pi, last - first)) ** 0.7
        start += length
    return _unit(hiss * envelope)


def _pink(samples: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Noise whose power falls by 3 dB an octave, shaped in the frequency domain."""
    spectrum = np.fft.rfft(rng.standard_normal(samples))
    frequency = np.fft.rfftfreq(samples, 1 / RATE)
    return np.fft.irfft(spectrum / np.sqrt(np.maximum(frequency, 20.0)), samples)


def _unit(wave: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(wave / np.sqrt(np.mean(wave**2)), dtype=np.float64)
