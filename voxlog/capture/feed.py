"""Captured blocks as what speech is looked for in: 16 kHz, without gaps. Pure."""

from collections.abc import Iterator

import numpy as np
import soxr
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.capture.block import Block

__all__ = ["Feed"]

SILENCE_SECONDS = 10.0
"""Silence for what was lost comes in pieces of so long: a device may be away for an hour."""


class Feed:
    """Turns blocks into samples of shape (channels, n), 1.0 full scale, at 16 kHz.

    What was lost is silence, so the count of samples stays the time. Where the device has another
    rate, samples come some milliseconds after the block that they are of.

    Args:
        channels: how many.
        rate: the source's samples a second.
    """

    def __init__(self, channels: int, rate: int) -> None:
        self._channels = channels
        self._silence = round(SILENCE_SECONDS * rate)
        self._resampler = (
            None
            if rate == RATE
            else soxr.ResampleStream(rate, RATE, channels, dtype="float32", quality="HQ")
        )

    def push(self, block: Block) -> Iterator[NDArray[np.float32]]:
        """Takes the next block; gives what is there to be listened to, mostly in one piece."""
        lost = block.lost
        while lost > 0:
            count = min(lost, self._silence)
            yield self._at_16k(np.zeros((self._channels, count), dtype=np.float32))
            lost -= count
        yield self._at_16k(block.samples.astype(np.float32) / np.float32(32768))

    def finish(self) -> NDArray[np.float32]:
        """What is left in the resampler at the end."""
        return self._at_16k(np.zeros((self._channels, 0), dtype=np.float32), last=True)

    def _at_16k(self, samples: NDArray[np.float32], *, last: bool = False) -> NDArray[np.float32]:
        if self._resampler is None:
            return samples
        done = self._resampler.resample_chunk(np.ascontiguousarray(samples.T), last=last)
        return np.ascontiguousarray(done.reshape(-1, self._channels).T)
