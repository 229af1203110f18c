"""Sounds that the audio tests write to files: made by numpy, the same at each call."""

import subprocess
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import soundfile
from numpy.typing import NDArray

from tests.fetch import clip


def tone(
    seconds: float, rate: int = 16_000, channels: int = 1, frequency: float = 440.0
) -> NDArray[np.float32]:
    """A tone at 0.3 of full scale, an octave higher with each channel, shape (n, channels)."""
    time = np.arange(round(seconds * rate)) / rate
    pitches = frequency * 2.0 ** np.arange(channels)
    return (0.3 * np.sin(2 * np.pi * time[:, np.newaxis] * pitches)).astype(np.float32)


def write(path: Path, samples: NDArray[np.float32], rate: int = 16_000, **how: str) -> Path:
    """Writes by libsndfile; `format` and `subtype` as there."""
    soundfile.write(path, samples, rate, **how)
    return path


def convert(source: Path, target: Path, *options: str) -> Path:
    """Writes by the ffmpeg program, which shares no code with libsndfile."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-y", "-loglevel", "error", "-i", str(source)]
    subprocess.run([*command, *options, str(target)], check=True)
    return target


def cut_short(path: Path, share: float = 0.6) -> Path:
    """Leaves only the first part of a file's bytes."""
    whole = path.read_bytes()
    path.write_bytes(whole[: round(len(whole) * share)])
    return path


def speech(*names: str, pause: float = 1.0) -> NDArray[np.float32]:
    """Real speech at 16 kHz: the named clips with silence before, between and after, shape (n,)."""
    quiet = np.zeros(round(pause * 16_000), dtype=np.float32)
    parts = [quiet]
    for name in names:
        parts += [_read_clip(clip(name)), quiet]
    return np.concatenate(parts)


def _read_clip(path: Path) -> NDArray[np.float32]:
    if path.suffix == ".raw":
        return np.fromfile(path, dtype="<i2").astype(np.float32) / 32768
    samples, rate = soundfile.read(path, dtype="float32")
    assert rate == 16_000
    return samples
