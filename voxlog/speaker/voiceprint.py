"""What a voice sounds like in an utterance, in 80 bytes. Pure.

The mean and the spread of the sound's level in 40 bands, as the mel scale has them, over the frames
of voice. That is little beside what a network makes of a voice, and on one run's intercom it does
better: the run itself shows how each of its few voices varies (voices.py), and every microphone and
mask leaves its mark in it, too. Loudness is taken out.

Bytes, because they are kept with what was heard: a run that is followed again, or taken up again,
has the same voices to the bit.
"""

from collections.abc import Iterable
from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["BANDS", "LEAST_VOICE_S", "decoded", "voiceprint"]

Floats = NDArray[np.float32]
Doubles = NDArray[np.float64]

RATE = 16_000
BANDS = 40
WINDOW = RATE * 25 // 1000
HOP = RATE * 10 // 1000
FFT = 512
LEAST_VOICE_S = 0.3
"""Seconds of voice under which an utterance says too little of it."""
MOST_VOICE_S = 3.0
"""Seconds of voice that are looked at; no more is needed."""
QUIETEST = 1e-10
MIDDLE = slice(8, 32)
"""Bands that every intercom carries, about 400 to 3,300 Hz: what loudness is measured in."""
FLOOR = -3.0
"""Decades of power under the loud frames; what lies below is rounding, in a quiet recording."""
MEAN_STEP = 0.04
SPREAD_STEP = 0.01
"""Decades of power that a byte's step is worth, in the means and in the spreads."""


def voiceprint(stretches: Iterable[Floats]) -> bytes:
    """The print of an utterance's stretches of voice at 16 kHz; empty where they are too short."""
    frames = [_frames(one) for one in stretches]
    every = np.concatenate(frames) if frames else np.zeros((0, WINDOW), np.float32)
    every = every[: round(MOST_VOICE_S * RATE) // HOP]
    if len(every) * HOP < LEAST_VOICE_S * RATE:
        return b""
    power = np.abs(np.fft.rfft(every * _window(), FFT)) ** 2
    level = np.log10(power @ _bands() + QUIETEST)
    loudness = np.sort(level[:, MIDDLE].mean(axis=1))
    level = np.maximum(level - np.median(loudness[len(loudness) // 2 :]), FLOOR)
    steps = np.concatenate([level.mean(axis=0) / MEAN_STEP, level.std(axis=0) / SPREAD_STEP])
    whole: NDArray[np.int8] = np.clip(np.rint(steps), -127, 127).astype(np.int8)
    return whole.tobytes()


def decoded(print_: bytes) -> Doubles:
    """A print's means and spreads, in decades of power; shape (2 * BANDS,)."""
    steps = np.frombuffer(print_, np.int8).astype(np.float64)
    return np.concatenate([steps[:BANDS] * MEAN_STEP, steps[BANDS:] * SPREAD_STEP])


def _frames(stretch: Floats) -> Floats:
    if len(stretch) < WINDOW:
        return np.zeros((0, WINDOW), np.float32)
    return np.lib.stride_tricks.sliding_window_view(stretch, WINDOW)[::HOP]


@cache
def _window() -> Floats:
    return np.hamming(WINDOW).astype(np.float32)


@cache
def _bands() -> Floats:
    """Triangles evenly spaced on the mel scale, 2595 log10(1 + f / 700) (HTK), up to 8 kHz."""
    top = 2595 * np.log10(1 + RATE / 2 / 700)
    edges = 700 * (10 ** (np.linspace(0, top, BANDS + 2) / 2595) - 1)
    bins = np.arange(FFT // 2 + 1) * RATE / FFT
    below, peak, above = edges[:-2], edges[1:-1], edges[2:]
    rising = (bins[:, None] - below) / (peak - below)
    falling = (above - bins[:, None]) / (above - peak)
    weights = np.maximum(0, np.minimum(rising, falling))
    # The narrowest triangles may lie between two bins.
    weights[np.rint(peak * FFT / RATE).astype(int), np.arange(BANDS)] += 1e-3
    bands: Floats = (weights / weights.sum(axis=0)).astype(np.float32)
    return bands
