"""The tone before advice: short, soft at both ends, unlike an alarm. Pure.

Two rising notes in the band of an intercom. Clicks come from steps in a wave or its slope, so each
note swells and fades by half a cosine.
"""

from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["silence", "tone"]

NOTES_HZ: Final = (660.0, 880.0)
NOTE_S: Final = 0.12
FADE_S: Final = 0.02
LEVEL: Final = 0.25
"""Peak, full scale = 1: below speech, so that it startles nobody."""


@cache
def tone(rate: int) -> NDArray[np.int16]:
    """The tone at `rate` samples a second, mono; a quarter of a second."""
    wave = np.concatenate([_note(hertz, rate) for hertz in NOTES_HZ])
    samples = np.asarray(np.round(wave * LEVEL * 32767), dtype=np.int16)
    samples.setflags(write=False)
    return samples


def silence(seconds: float, rate: int) -> NDArray[np.int16]:
    """A pause."""
    return np.zeros(round(seconds * rate), dtype=np.int16)


def _note(hertz: float, rate: int) -> NDArray[np.float64]:
    count, fade = round(NOTE_S * rate), round(FADE_S * rate)
    swell = (1 - np.cos(np.pi * np.arange(fade) / fade)) / 2
    shape = np.ones(count)
    shape[:fade] = swell
    shape[-fade:] = swell[::-1]
    return np.asarray(np.sin(2 * np.pi * hertz * np.arange(count) / rate) * shape)
