"""What a microphone and a radio do to speech: a low-pass, and a squelch."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from samples_synthetic.synthesiser import RATE

__all__ = ["low_passed", "squelched"]

_ONE_CALL_S = 0.4  # a shorter pause does not end a transmission
_CUT_S = (0.06, 0.14)  # of the first word, until the squelch has opened
_TAIL_S = (0.15, 0.3)  # of hiss, until it has closed


def low_passed(wave: NDArray[np.float64], hertz: float) -> NDArray[np.float64]:
    """A fourth-order Butterworth low-pass, 3 dB down at `hertz`."""
    return np.asarray(sosfilt(butter(4, hertz, fs=RATE, output="sos"), wave), dtype=np.float64)


def squelched(
    wave: NDArray[np.float64],
    spoken: Sequence[tuple[int, int]],
    hiss: NDArray[np.float64],
    rng: np.random.Generator,
) -> NDArray[np.float64]:
    """A wave as a radio with a squelch gives it: calls with cut onsets and noise tails.

    spoken: first sample and end of each thing said. hiss: what is heard until it closes, as long
    as the wave.
    """
    heard = np.zeros_like(wave)
    for start, end in _calls(spoken):
        opens = start + int(rng.uniform(*_CUT_S) * RATE)
        heard[opens:end] = wave[opens:end]
        tail = int(rng.uniform(*_TAIL_S) * RATE)
        heard[end : end + tail] = hiss[end : end + tail]
    return heard


def _calls(spoken: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    calls: list[tuple[int, int]] = []
    for start, end in sorted(spoken):
        if calls and start - calls[-1][1] < _ONE_CALL_S * RATE:
            calls[-1] = (calls[-1][0], max(end, calls[-1][1]))
        else:
            calls.append((start, end))
    return calls
