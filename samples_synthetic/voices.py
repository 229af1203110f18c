"""The synthetic speakers, and which of them may be used for what.

Tuning a constant and reporting a figure on the same voices would flatter the figure, so the split
is made here, once: `FIT` voices set constants, `REPORT` voices only ever measure.
"""

from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["ALL", "FIT", "LONGEST", "REPORT", "language_of", "other_accent_of", "style_of"]

FIT = ("af_bella", "af_kore", "am_michael", "am_puck", "bf_isabella", "bm_fable")
REPORT = ("af_heart", "af_sarah", "am_eric", "am_fenrir", "bf_emma", "bm_george")
ALL = FIT + REPORT

LONGEST = 200
"""The most phonemes in one clip: only that many of the published 510 style rows are kept."""

_FILE = Path(__file__).with_name("voices.npz")


def language_of(voice: str) -> str:
    """The path of espeak-ng's voice for an accent: names starting with b are British."""
    return "gmw/en" if voice.startswith("b") else "gmw/en-US"


def other_accent_of(voice: str) -> str:
    """An accent that the voice was not made for: Scottish for British ones, Caribbean else."""
    return "gmw/en-GB-scotland" if voice.startswith("b") else "gmw/en-029"


def style_of(voice: str, phonemes: int) -> NDArray[np.float32]:
    """The style vector (1 x 256) of a voice for a text of so many phonemes."""
    return _styles()[voice][phonemes - 1 : phonemes].astype(np.float32)


@cache
def _styles() -> dict[str, NDArray[np.float16]]:
    with np.load(_FILE) as archive:
        return {voice: archive[voice] for voice in ALL}
