"""The intercom: one stream of all channels of one device, and patience when it goes away.

A program beside this one opens the device and listens to it (`device_program`, `opening`): a
device that is gone may leave its driver hanging, and a program can be killed.
"""

import threading
import time
from collections.abc import Iterator

import numpy as np

from voxlog.capture.arrival import Arrivals
from voxlog.capture.block import Block
from voxlog.capture.opening import CLOSE_SECONDS, Opening
from voxlog.capture.wire import Input
from voxlog.errors import InputError

__all__ = ["DeviceSource"]

RETRY_SECONDS = 1.0
"""The device is not opened again sooner than so long after it was opened last."""


class DeviceSource:
    """A device as a source of blocks. It is open, and takes audio, from the beginning on.

    Once it runs it raises nothing. A device that goes away is opened again, by its name, for as
    long as it takes; the block after that says in `lost` how long it was away.

    Args:
        wanted: its number or (part of) its name; the system's own choice if not given.
        channels: the first so many of it; all that it has if not given.

    Raises:
        InputError: PortAudio or the device is absent, has too few channels, or cannot be opened.
    """

    def __init__(self, wanted: str | None = None, channels: int | None = None) -> None:
        self.fault = ""
        self._stopped = threading.Event()
        self._opened_s = time.monotonic()
        self._opening = Opening(Input(wanted or "", channels or 0))
        try:
            self._input = self._opening.answer()
        except InputError:
            self._opening.close()
            raise

    @property
    def name(self) -> str:
        return self._input.device

    @property
    def channels(self) -> int:
        return self._input.channels

    @property
    def rate(self) -> int:
        return self._input.rate

    def blocks(self) -> Iterator[Block]:
        arrivals = Arrivals(self.rate)
        was_away = False
        try:
            while True:
                for samples, clock, wall, dropped in self._opening.arrivals():
                    # Also after a hold-up in which nothing was lost: then all due comes at once.
                    if was_away:
                        first, lost = arrivals.place_after_gap(len(samples), clock)
                    else:
                        first, lost = arrivals.place(len(samples), clock, dropped)
                    was_away, self.fault = False, ""
                    yield Block(np.ascontiguousarray(samples.T), first, clock, wall, lost)
                was_away = True
                if not self._open_again():
                    return
        finally:
            self._opening.close(CLOSE_SECONDS)

    def stop(self) -> None:
        self._stopped.set()
        self._opening.end()

    def _open_again(self) -> bool:
        """Until it is open; False when it was stopped before."""
        while not self._stopped.is_set():
            self.fault = f"device {self.name}: gives no audio; trying to open it again"
            self._opening.close()
            self._stopped.wait(max(0.0, self._opened_s + RETRY_SECONDS - time.monotonic()))
            self._opened_s = time.monotonic()
            try:
                self._opening = Opening(self._input)
                if self._stopped.is_set():  # `stop` may have ended the one before
                    return False
                self._opening.answer()
            except InputError:
                continue
            return True
        return False
