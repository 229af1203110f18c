"""Text -> speech, offline: the synthesiser hibari-tts with the one voice that its package carries.

Its code and weights are Apache-2.0 and need nothing that the recogniser does not bring (numpy,
onnxruntime). It could fetch further voices; it is only ever given the file it came with, whose
digest is checked, so nothing is fetched.
"""

import hashlib
from functools import lru_cache
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from voxlog.errors import InputError
from voxlog.voice.words import speakable

__all__ = ["MISSING", "Speech", "load_speech"]

MISSING: Final = (
    "spoken words: package hibari-tts is not installed, so there is only a tone and the words on "
    "the screen; run: pip install 'voxlog[voice]'"
)
_MODEL: Final = Path("assets") / "hibari.onnx"
_SHA256: Final = "5f70741d4e900f4e85d0037498736cc1b3e1b9a63a13546a5da1e63abf4fccd8"
_PEAK: Final = 0.5  # full scale = 1
_FLOOR: Final = 0.02  # of the peak; before and after, a third of a second is softer than this
_MARGIN_S: Final = 0.03
_KEPT: Final = 64  # answers kept ready; the same few come again
_LONGEST: Final = 400  # characters; no advice is longer, and longer text would hold up the rest


class Speech(Protocol):
    """A voice that is loaded and ready."""

    @property
    def rate(self) -> int:
        """Samples a second."""

    def samples(self, text: str) -> NDArray[np.int16]:
        """The words of a text of the log, mono; empty for a text without words."""


def load_speech() -> Speech:
    """The voice, loaded and warm: takes a second.

    Raises:
        InputError: the package is absent, or its weights are not the published ones.
    """
    spec = find_spec("hibari")
    if spec is None or spec.origin is None:
        raise InputError(MISSING)
    model = Path(spec.origin).parent / _MODEL
    try:
        digest = hashlib.sha256(model.read_bytes()).hexdigest()
    except OSError as error:
        raise InputError(f"{model}: {error.strerror}; {_again()}") from None
    if digest != _SHA256:
        raise InputError(f"{model}: SHA-256 is {digest}, expected {_SHA256}; {_again()}")
    return _Hibari(model)


def _again() -> str:
    return "install it again: pip install --force-reinstall hibari-tts==0.2.1"


class _Hibari:
    """The same text gives the same samples; the last texts are kept."""

    def __init__(self, model: Path) -> None:
        hibari: Any = import_module("hibari")
        self.rate = int(hibari.SAMPLE_RATE)
        self._engine: Any = hibari.Hibari(model=str(model))
        self.samples = lru_cache(_KEPT)(self._samples)
        self._samples("ready")

    def _samples(self, text: str) -> NDArray[np.int16]:
        words = speakable(text)[:_LONGEST]
        if not any(sign.isalnum() for sign in words):
            return np.zeros(0, dtype=np.int16)  # it would breathe
        wave = np.asarray(self._engine(words, seed=0), dtype=np.float64)
        loudest = float(np.max(np.abs(wave), initial=0.0))
        if loudest == 0.0:
            return np.zeros(0, dtype=np.int16)
        heard = np.flatnonzero(np.abs(wave) > _FLOOR * loudest)
        margin = round(_MARGIN_S * self.rate)
        wave = wave[max(0, heard[0] - margin) : heard[-1] + margin]
        samples = np.asarray(np.round(wave * (_PEAK / loudest) * 32767), dtype=np.int16)
        samples.setflags(write=False)
        return samples
