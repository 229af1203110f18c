"""Sounds that no constant was set on: mains hum and a fan. Both of mean power 1."""

import numpy as np
from numpy.typing import NDArray

from samples_synthetic.synthesiser import RATE

__all__ = ["fan", "hum"]

_HARMONICS_UP_TO_HZ = 3000.0
_BLADES_HZ = 172.0  # seven blades, 1,475 turns a minute: a four-pole motor on 50 Hz
_ROLL_OFF_HZ = 600.0
_SWAY_HZ = 1.3


def hum(samples: int, rng: np.random.Generator, mains: float) -> NDArray[np.float64]:
    """The harmonics of a mains frequency in Hz, the nth of amplitude 1/n, as of a sawtooth.

    Not band-limited by the caller: it comes in behind the microphone.
    """
    time = np.arange(samples) / RATE
    wave = np.zeros(samples)
    for harmonic in range(1, int(_HARMONICS_UP_TO_HZ / mains) + 1):
        phase = rng.uniform(0, 2 * np.pi)
        wave += np.sin(2 * np.pi * mains * harmonic * time + phase) / harmonic
    return _unit(wave)


def fan(samples: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Rushing air, level up to 600 Hz and 9 dB an octave down above, and the blades' tones."""
    time = np.arange(samples) / RATE
    spectrum = np.fft.rfft(rng.standard_normal(samples))
    octaves = np.log2(np.maximum(np.fft.rfftfreq(samples, 1 / RATE) / _ROLL_OFF_HZ, 1.0))
    air = np.fft.irfft(spectrum * 10 ** (-9 * octaves / 20), samples)
    blades = np.zeros(samples)
    for harmonic in range(1, 9):
        phase = rng.uniform(0, 2 * np.pi)
        blades += np.sin(2 * np.pi * _BLADES_HZ * harmonic * time + phase) / harmonic**0.5
    sway = 1 + 0.15 * np.sin(2 * np.pi * _SWAY_HZ * time + rng.uniform(0, 2 * np.pi))
    return _unit((_unit(air) + 0.5 * _unit(blades)) * sway)


def _unit(wave: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(wave / np.sqrt(np.mean(wave**2)), dtype=np.float64)
