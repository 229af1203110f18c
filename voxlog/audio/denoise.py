"""Take steady noise off a channel: compressor, fans, hiss.

Spectral subtraction (Boll 1979, IEEE Trans. ASSP 27(2); in the power domain with a floor, as
Berouti et al. 1979 have it), on a stream. The noise in each frequency bin is a low quantile of its
power over the last seconds: between words, and in the valleys of speech, only the noise is left. A
noise that changes faster than that stays. Only past audio is used, so that a live channel sounds as
a recorded one.
"""

import numpy as np
from numpy.typing import NDArray

__all__ = ["Denoiser", "quantile"]

Floats = NDArray[np.float32]

_FRAME = 512  # 32 ms: a few harmonics of a voice, and steady within a sound of speech
_HOP = 256
_SMOOTH = 5  # hops that a bin's power is averaged over before its quantile is taken
_KEPT = 500  # hops (8 s) over which the noise is estimated
_EVERY = 50  # hops (0.8 s) between two estimates
_THINNED = 4  # one hop in so many is kept for it
_QUANTILE = 0.3
_QUANTILE_TO_MEAN = 1.15  # of a smoothed chi-square power; measured on pink noise
_FLOOR = 0.15  # of the amplitude: what is left keeps "musical" tones from standing out

_WINDOW = np.sqrt(np.hanning(_FRAME + 1)[:-1]).astype(np.float32)


class Denoiser:
    """One channel's steady noise, learned and taken off block by block.

    What comes out lags what went in by one frame, which `push` makes up for: the samples that it
    returns continue those that it returned before, and `finish` gives the last ones.
    """

    def __init__(self) -> None:
        self._rest = np.zeros(_FRAME - _HOP, np.float32)
        self._tail = np.zeros(_FRAME - _HOP, np.float32)
        self._owed = _FRAME - _HOP  # samples of the silence before the first, not to be returned
        self._hops = 0
        self._power = np.zeros((_SMOOTH - 1, _FRAME // 2 + 1), np.float32)
        self._past = np.zeros((0, _FRAME // 2 + 1), np.float32)
        self._noise = np.zeros(_FRAME // 2 + 1, np.float32)
        self._gain = np.ones(_FRAME // 2 + 1, np.float32)

    def push(self, samples: Floats) -> Floats:
        """Take the next samples of the channel, at 16 kHz; returns what is ready."""
        joined = np.concatenate([self._rest, samples])
        hops = max(0, (len(joined) - _FRAME) // _HOP + 1)
        self._rest = joined[hops * _HOP :].copy()
        if hops == 0:
            return np.zeros(0, np.float32)
        frames = np.lib.stride_tricks.sliding_window_view(joined, _FRAME)[: hops * _HOP : _HOP]
        spectrum = np.fft.rfft(frames * _WINDOW, axis=1)
        cleaned = np.fft.irfft(spectrum * self._gains(np.abs(spectrum) ** 2), _FRAME, axis=1)
        return self._overlap(cleaned.astype(np.float32) * _WINDOW)

    def finish(self) -> Floats:
        """The samples still held back."""
        left = len(self._rest) - (_FRAME - _HOP)
        missing = (_HOP - left) % _HOP
        out = self.push(np.zeros(missing + _FRAME - _HOP, np.float32))
        return out[: len(out) - missing]

    def _overlap(self, frames: Floats) -> Floats:
        """Add the halves of neighbouring frames; the last half waits for the next frame."""
        first, second = frames[:, :_HOP], frames[:, _HOP:]
        out = first + np.concatenate([self._tail[None], second[:-1]])
        self._tail = second[-1].copy()
        ready: Floats = out.reshape(-1)[self._owed :]
        self._owed = max(0, self._owed - out.size)
        return ready

    def _gains(self, power: Floats) -> Floats:
        """The gain of every bin of every frame, in portions between two estimates of the noise."""
        smooth = self._smoothed(power)
        gains = np.empty_like(smooth)
        done = 0
        while done < len(smooth):
            portion = min(_EVERY - self._hops % _EVERY, len(smooth) - done)
            part = slice(done, done + portion)
            gains[part] = self._subtracted(power[part])
            self._learn(smooth[part])
            done += portion
        return gains

    def _smoothed(self, power: Floats) -> Floats:
        known = np.concatenate([self._power, power.astype(np.float32)])
        self._power = known[len(known) - (_SMOOTH - 1) :].copy()
        total = np.cumsum(np.vstack([np.zeros_like(known[:1]), known]), axis=0, dtype=np.float64)
        smooth: Floats = ((total[_SMOOTH:] - total[:-_SMOOTH]) / _SMOOTH).astype(np.float32)
        return smooth

    def _learn(self, smooth: Floats) -> None:
        numbers = self._hops + np.arange(len(smooth))
        self._hops += len(smooth)
        self._past = np.concatenate([self._past, smooth[numbers % _THINNED == 0]])
        self._past = self._past[-(_KEPT // _THINNED) :]
        if self._hops % _EVERY == 0:
            self._noise = quantile(self._past, _QUANTILE)
            self._noise *= _QUANTILE_TO_MEAN

    def _subtracted(self, power: Floats) -> Floats:
        wide = np.pad(power, ((0, 0), (1, 1)), mode="edge")
        near = (wide[:, :-2] + wide[:, 1:-1] + wide[:, 2:]) / 3
        left = 1 - self._noise / np.maximum(near, np.float32(1e-12))
        gain = np.sqrt(np.maximum(left, np.float32(_FLOOR**2))).astype(np.float32)
        before = np.concatenate([self._gain[None], gain[:-1]])
        self._gain = gain[-1]
        softened: Floats = (gain + before) / 2
        return softened


def quantile(rows: Floats, share: float) -> Floats:
    """Each column's quantile, linear between rows, as numpy has it, and ten times as quick.

    rows: two at least. share: 0 to below 1.
    """
    ordered = np.sort(rows, axis=0)
    place = share * (len(rows) - 1)
    below = int(place)
    found: Floats = ordered[below] + (ordered[below + 1] - ordered[below]) * np.float32(
        place - below
    )
    return found
