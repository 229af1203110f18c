"""A source whose blocks follow on what a run that was broken off has on the disk."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from voxlog.capture.block import Block
from voxlog.capture.clock import ClockMark
from voxlog.capture.source import Source

__all__ = ["GoingOn", "missing_until"]

LONGEST_GAP_S = 12 * 3600.0
"""A longer one is a clock that was set, not a run that anybody waited for."""


class GoingOn:
    """Gives another source's blocks their places behind what was recorded before.

    Args:
        source: of the channels and the rate of before.
        last: the last moment known of before, its sample at the source's rate, if there is one.
        held: samples that the longest channel has on the disk.
        tell: called with the first block, once: how many samples are missing before it, None where
            the system's clock does not tell.
    """

    def __init__(
        self,
        source: Source,
        last: ClockMark | None,
        held: int,
        tell: Callable[[int | None], object],
    ) -> None:
        self.channels = source.channels
        self.rate = source.rate
        self.name = source.name
        self._source = source
        self._last = last
        self._held = held
        self._tell = tell

    @property
    def fault(self) -> str:
        return self._source.fault

    def blocks(self) -> Iterator[Block]:
        """As the source's; `lost` of the first one says how long nothing was recorded."""
        offset: int | None = None
        for block in self._source.blocks():
            if offset is None:
                began_ns = block.wall_ns - block.samples.shape[1] * 1_000_000_000 // self.rate
                missing = missing_until(self._last, self._held, began_ns, self.rate)
                self._tell(missing)
                offset = self._held + (missing or 0) - block.first
                yield replace(block, first=block.first + offset, lost=missing or 0)
            else:
                yield replace(block, first=block.first + offset)

    def stop(self) -> None:
        self._source.stop()


def missing_until(last: ClockMark | None, held: int, wall_ns: int, rate: int) -> int | None:
    """Samples that were not recorded until a moment of the system's clock.

    Only that clock can tell, since the machine may have been started anew. None where it tells
    nonsense: a moment before the end of what was recorded, or half a day behind it.

    Args:
        last: the last moment known, its sample at `rate`, if there is one.
        held: samples that were recorded.
        wall_ns: the moment, nanoseconds since 1970.
        rate: samples a second.
    """
    if last is None:
        return None
    missing = last.sample + (wall_ns - last.wall_ns) * rate // 1_000_000_000 - held
    # A block arrives some hundredths of a second late, and the mark's may have as well.
    return max(0, missing) if -rate <= missing <= LONGEST_GAP_S * rate else None
