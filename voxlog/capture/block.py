"""A block of captured audio: what all of capture passes on."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Block"]


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Samples that arrived together.

    Attributes:
        samples: shape (channels, n), 16 bits, at the source's own rate.
        first: index of the first of them since the start. What was lost is counted too, so an index
            is a time: `first` of a block is `end` of the one before, and `lost` more.
        monotonic_ns: the monotonic clock when the block arrived, so just after its last sample.
        wall_ns: the system's clock then, nanoseconds since 1970-01-01T00:00Z.
        lost: samples a channel missing just before it: dropped, or the device was away.
    """

    samples: NDArray[np.int16]
    first: int
    monotonic_ns: int
    wall_ns: int
    lost: int = 0

    @property
    def end(self) -> int:
        """Index of the sample after the last."""
        return self.first + len(self.samples[0])
