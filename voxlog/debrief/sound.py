"""One pass through the recording: how loud it was, and the stretches to listen to again.

Files are read from their beginning to their end and never sought in: on a damaged FLAC that hangs.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.debrief.run import Run

__all__ = ["BUCKETS", "Loudness", "Sound", "Window", "read_sound"]

BUCKETS = 900
"""Columns of a waveform: about one for each px of the figure."""
_BLOCK = 1 << 18


class Window(NamedTuple):
    """A stretch to keep. start, end: seconds."""

    start: float
    end: float


@dataclass(frozen=True)
class Loudness:
    """A channel. lowest, highest: samples (-1 to 1) of each of BUCKETS equal stretches of the run.

    peak, rms: of all its samples.
    """

    lowest: NDArray[np.float32]
    highest: NDArray[np.float32]
    peak: float
    rms: float


@dataclass(frozen=True)
class Sound:
    """channels: by number; one whose file is not there, or cannot be read, is missing.

    clips: all channels together at 16 kHz, for each window; empty where no channel has it.
    """

    channels: dict[int, Loudness]
    clips: tuple[NDArray[np.float32], ...]


def read_sound(folder: Path, run: Run, windows: Sequence[Window]) -> Sound:
    """Read every channel once."""
    import soundfile

    loud: dict[int, Loudness] = {}
    clips = [np.zeros(_length(window), np.float32) for window in windows]
    for channel in run.channels:
        listener = _Listener(run.seconds, windows, clips)
        try:
            with soundfile.SoundFile(folder / channel.path) as file:
                listener.begin(file.samplerate)
                for block in file.blocks(_BLOCK, dtype="float32", always_2d=True):
                    listener.add(block[:, 0])
        except (OSError, RuntimeError):  # RuntimeError is soundfile's own
            continue
        loud[channel.number] = listener.loudness()
    return Sound(loud, tuple(_tamed(clip) for clip in clips) if loud else ())


def _length(window: Window) -> int:
    return round((window.end - window.start) * RATE)


def _tamed(clip: NDArray[np.float32]) -> NDArray[np.float32]:
    """Channels added up may be louder than full scale."""
    peak = float(np.abs(clip).max(initial=0.0))
    return clip / np.float32(peak) if peak > 1 else clip


class _Listener:
    """Takes a channel block by block."""

    def __init__(
        self, seconds: float, windows: Sequence[Window], clips: Sequence[NDArray[np.float32]]
    ) -> None:
        self._seconds = seconds
        self._windows = windows
        self._clips = clips
        self._rate = RATE
        self._done = 0
        self._power = 0.0
        self._kept: list[list[NDArray[np.float32]]] = [[] for _ in windows]
        self._low = np.zeros(BUCKETS, np.float32)
        self._high = np.zeros(BUCKETS, np.float32)

    def begin(self, rate: int) -> None:
        self._rate = rate

    def add(self, samples: NDArray[np.float32]) -> None:
        if not len(samples):
            return
        first, self._done = self._done, self._done + len(samples)
        self._power += float(np.dot(samples, samples))
        self._measure(first, samples)
        for window, kept in zip(self._windows, self._kept, strict=True):
            start = round(window.start * self._rate) - first
            end = round(window.end * self._rate) - first
            if end > 0 and start < len(samples):
                kept.append(samples[max(start, 0) : end].copy())

    def _measure(self, first: int, samples: NDArray[np.float32]) -> None:
        a_bucket = self._seconds * self._rate / BUCKETS
        bucket = min(int(first / a_bucket), BUCKETS - 1)
        last = min(int((first + len(samples) - 1) / a_bucket), BUCKETS - 1)
        edges = [max(math.ceil(n * a_bucket) - first, 0) for n in range(bucket, last + 1)]
        places = slice(bucket, last + 1)
        self._low[places] = np.minimum(self._low[places], np.minimum.reduceat(samples, edges))
        self._high[places] = np.maximum(self._high[places], np.maximum.reduceat(samples, edges))

    def loudness(self) -> Loudness:
        for kept, clip in zip(self._kept, self._clips, strict=True):
            if kept:
                heard = self._at_clip_rate(np.concatenate(kept))[: len(clip)]
                clip[: len(heard)] += heard
        peak = float(max(self._high.max(), -self._low.min()))
        return Loudness(self._low, self._high, peak, math.sqrt(self._power / max(self._done, 1)))

    def _at_clip_rate(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        if self._rate == RATE:
            return samples
        import soxr

        resampled: NDArray[np.float32] = soxr.resample(samples, self._rate, RATE)
        return resampled
