"""Blocks that the capture tests feed in: made by numpy, the same at each call."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from voxlog.capture.block import Block

RATE = 16_000


def noise(channels: int, count: int, seed: int = 5, scale: float = 3000.0) -> NDArray[np.int16]:
    """Shape (channels, count)."""
    drawn = np.random.default_rng(seed).standard_normal((channels, count)) * scale
    return np.clip(np.rint(drawn), -32768, 32767).astype(np.int16)


def blocks_of(samples: NDArray[np.int16], size: int = 800, first: int = 0) -> Iterator[Block]:
    """Cuts samples into blocks whose clocks run with them from 0."""
    for start in range(0, samples.shape[1], size):
        part = samples[:, start : start + size]
        clock = (first + start + part.shape[1]) * 1_000_000_000 // RATE
        yield Block(part, first + start, clock, clock)
