"""A recording played as if it were the intercom, for rehearsals and tests."""

import threading
import time
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.recording import Recording
from voxlog.capture.block import Block

__all__ = ["Rehearsal"]

BLOCK_SECONDS = 0.05
"""As a device's block."""


class Rehearsal:
    """A recording as a source of blocks at 16 kHz.

    The clocks of its blocks go with the audio and not with the machine, so a run played at any
    speed has the times of one played in real time.

    Args:
        recording: what to play; 16 bits at 16 kHz come out bit for bit.
        speed: 1 for real time, 20 for twenty times as fast, 0 for as fast as it is taken.
        wall_ns: the system's clock at its first sample, nanoseconds since 1970; now unless given.
        skip: samples at 16 kHz that are passed over; the first one played has the index 0.
    """

    fault = ""
    rate = RATE

    def __init__(
        self,
        recording: Recording,
        speed: float = 1.0,
        wall_ns: int | None = None,
        skip: int = 0,
    ) -> None:
        if speed < 0:
            raise ValueError("speed is not negative")
        self.channels = recording.channels
        self.name = ", ".join(path.name for path in recording.paths)
        self._recording = recording
        self._speed = speed
        self._wall_ns = wall_ns
        self._skip = skip
        self._stopped = threading.Event()

    def blocks(self) -> Iterator[Block]:
        """Plays it; InputError where the recording can no longer be read."""
        monotonic_ns = time.monotonic_ns()
        wall_ns = time.time_ns() if self._wall_ns is None else self._wall_ns
        first = 0
        for part in self._played():
            end = first + part.shape[1]
            self._wait_for(monotonic_ns, end)
            if self._stopped.is_set():
                return
            # As audio/store does it: 16-bit files come back bit for bit.
            samples = np.clip(np.rint(part * 32768), -32768, 32767).astype(np.int16)
            played_ns = end * 1_000_000_000 // RATE
            yield Block(samples, first, monotonic_ns + played_ns, wall_ns + played_ns)
            first = end

    def stop(self) -> None:
        self._stopped.set()

    def _played(self) -> Iterator[NDArray[np.float32]]:
        """The recording, less what is passed over; files are never sought in."""
        left = self._skip
        for part in self._recording.blocks(BLOCK_SECONDS):
            if left < part.shape[1]:
                yield part[:, left:]
            left = max(0, left - part.shape[1])

    def _wait_for(self, started_ns: int, sample: int) -> None:
        if self._speed:
            due_s = sample / RATE / self._speed - (time.monotonic_ns() - started_ns) / 1e9
            self._stopped.wait(max(0.0, due_s))
