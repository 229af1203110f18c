"""Another voice made of a clip: pitch, formants and effort, by the WORLD vocoder.

Morise, Yokomori and Ozawa 2016, "WORLD: a vocoder-based high-quality speech synthesis system for
real-time applications", through pyworld.
"""

import numpy as np
from numpy.typing import NDArray

from samples_synthetic.synthesiser import RATE
from voxlog.errors import InputError

__all__ = ["joined", "revoiced"]

_EFFORT_FROM_HZ = 1000.0
_BREATH_S = 0.35  # between two breaths' words: a valve must open and close
_LOUDEST = 0.95


def revoiced(
    clip: NDArray[np.int16], pitch: float = 1.0, formants: float = 1.0, strain: float = 0.0
) -> NDArray[np.int16]:
    """The same words at the same times and as loud.

    pitch, formants: factors. strain: dB an octave above 1 kHz, as raised voices are brighter.
    """
    try:
        import pyworld
    except ImportError:
        raise InputError(
            "package pyworld: not installed; run: pip install '.[changed-voices]'"
        ) from None
    wave = clip / 32768
    rough, times = pyworld.dio(wave, RATE)
    fundamental = pyworld.stonemask(wave, rough, times, RATE)
    envelope = pyworld.cheaptrick(wave, fundamental, times, RATE)
    breathiness = pyworld.d4c(wave, fundamental, times, RATE)
    frequency = np.linspace(0, RATE / 2, envelope.shape[1])
    octaves = np.log2(np.maximum(frequency, _EFFORT_FROM_HZ) / _EFFORT_FROM_HZ)
    envelope = np.exp(_stretched(np.log(envelope), formants)) * 10 ** (strain * octaves / 10)
    made = pyworld.synthesize(
        fundamental * pitch, envelope, _stretched(breathiness, formants), RATE
    )[: len(clip)]
    made = np.pad(made, (0, len(clip) - len(made)))
    made *= np.sqrt(np.mean(wave**2) / np.mean(made**2))
    made /= max(1.0, float(np.abs(made).max()) / _LOUDEST)
    return np.asarray(np.round(made * 32767), dtype=np.int16)


def joined(pieces: list[NDArray[np.int16]]) -> NDArray[np.int16]:
    """Pieces of a line with a breath between them."""
    breath = np.zeros(int(_BREATH_S * RATE), dtype=np.int16)
    parts = [part for piece in pieces for part in (breath, piece)]
    return np.concatenate(parts[1:])


def _stretched(frames: NDArray[np.float64], factor: float) -> NDArray[np.float64]:
    """Each frame's spectrum moved up in frequency by a factor."""
    if factor == 1.0:
        return frames
    bins = np.arange(frames.shape[1])
    moved = [np.interp(bins / factor, bins, frame) for frame in frames]
    return np.ascontiguousarray(moved)
