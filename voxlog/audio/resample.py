"""Any rate to 16 kHz, as a stream: no clicks between blocks, no drift, nothing held back."""

from collections.abc import Iterator

import numpy as np
import soxr
from numpy.typing import NDArray

from voxlog.audio import RATE

__all__ = ["to_16k"]


def to_16k(
    blocks: Iterator[NDArray[np.float32]], rate: int, channels: int
) -> Iterator[NDArray[np.float32]]:
    """Resamples blocks of shape (n, channels); the time of sample 0 stays where it was.

    The whole has n * 16000 / rate samples, within one, however it was cut into blocks.
    """
    if rate == RATE:
        yield from blocks
        return
    stream = soxr.ResampleStream(rate, RATE, channels, dtype="float32", quality="HQ")
    for block in blocks:
        yield _two_dimensional(stream.resample_chunk(block), channels)
    rest = np.zeros((0, channels), dtype=np.float32)
    yield _two_dimensional(stream.resample_chunk(rest, last=True), channels)


def _two_dimensional(block: NDArray[np.float32], channels: int) -> NDArray[np.float32]:
    return block.reshape(-1, channels)
