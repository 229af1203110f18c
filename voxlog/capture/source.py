"""What audio comes from, for all that follow it: a device and a rehearsal look the same."""

from collections.abc import Iterator
from typing import Protocol

from voxlog.capture.block import Block

__all__ = ["Source"]


class Source(Protocol):
    """Gives blocks in order until it is stopped or has no more.

    Each can be listened to once.
    """

    @property
    def channels(self) -> int: ...

    @property
    def rate(self) -> int:
        """Samples a second, the same from the first block to the last."""

    @property
    def name(self) -> str:
        """For people and the log."""

    @property
    def fault(self) -> str:
        """Why no audio comes at this moment, as a line to show; empty when all is well."""

    def blocks(self) -> Iterator[Block]:
        """Waits for each block. Raises nothing while a run goes on."""

    def stop(self) -> None:
        """Lets `blocks` give what is there and end. From any thread, and as often as you like."""
