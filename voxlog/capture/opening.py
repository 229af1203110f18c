"""One opening of a device: a device program that was started, and what comes from it."""

import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import suppress
from queue import Empty, SimpleQueue
from typing import Final

from voxlog.capture.device_program import BLOCKS_A_SECOND
from voxlog.capture.wire import Arrival, Input, read_answer, read_arrival
from voxlog.errors import InputError

__all__ = ["Opening"]

PROGRAM: tuple[str, ...] = (sys.executable, "-m", "voxlog.capture.device_program")

START_SECONDS = 10.0
"""What the program may take to start and to open the device."""

OPENING_SECONDS = 3.0
"""What the first block after opening may take."""

GONE_SECONDS = 1.0
"""Without a block for so long the device is taken to be away."""

CLOSE_SECONDS: Final = 1.0

AHEAD_BLOCKS = 2 * BLOCKS_A_SECOND
"""So much is read before it is asked for; more waits in the program, which counts what it drops."""


class Opening:
    """The device program, started.

    Args:
        asked: what it is to open.

    Raises:
        InputError: no program can be started.
    """

    def __init__(self, asked: Input) -> None:
        self._answer: SimpleQueue[Input | InputError] = SimpleQueue()
        self._arrivals: SimpleQueue[Arrival | None] = SimpleQueue()
        self._closed = threading.Event()
        try:
            self._program = subprocess.Popen(  # noqa: S603 - our own program
                (*PROGRAM, *asked.arguments()),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,  # sound systems chatter there, over the screen
                start_new_session=True,  # a Ctrl-C is for the run to end, in its own order
            )
        except OSError as error:
            raise InputError(f"audio input: cannot be opened ({error.strerror})") from error
        threading.Thread(target=self._read, name="device", daemon=True).start()

    def answer(self) -> Input:
        """What was opened; to be asked once.

        Raises:
            InputError: it cannot be opened, or that took too long, or `end` was called.
        """
        try:
            answer = self._answer.get(timeout=START_SECONDS)
        except Empty:
            answer = InputError(
                "audio input: cannot be opened (its driver does not answer);"
                " connect it anew or name another, see voxlog devices"
            )
        if isinstance(answer, InputError):
            raise answer
        return answer

    def arrivals(self) -> Iterator[Arrival]:
        """All until the program ends, or the device gives nothing for too long."""
        patience_s = OPENING_SECONDS
        while True:
            try:
                arrival = self._wait(patience_s)
            except Empty:
                return
            if arrival is None:
                return
            patience_s = GONE_SECONDS
            yield arrival

    def end(self) -> None:
        """Asks the program to give what is there and end. From any thread."""
        self._answer.put(InputError("audio input: not wanted any more"))
        assert self._program.stdin is not None
        with suppress(OSError):
            self._program.stdin.close()

    def close(self, patience_s: float = 0.0) -> None:
        """Ends the program: by itself within so long, else by force. As often as you like."""
        self.end()
        self._closed.set()
        with suppress(subprocess.TimeoutExpired):
            self._program.wait(patience_s)
        self._program.kill()
        with suppress(subprocess.TimeoutExpired):  # a driver can hold off even that
            self._program.wait(CLOSE_SECONDS)

    def _wait(self, seconds: float) -> Arrival | None:
        """Twice half as long: where the whole program was held up, the device's call comes too.

        To open the device again would throw away what the audio system kept meanwhile.
        """
        try:
            return self._arrivals.get(timeout=seconds / 2)
        except Empty:
            return self._arrivals.get(timeout=seconds / 2)

    def _read(self) -> None:
        """On a thread of its own, so that a recording held up for a while holds up nothing here."""
        assert self._program.stdout is not None
        with self._program.stdout as pipe:
            try:
                self._answer.put(read_answer(pipe))
            except InputError as error:
                self._answer.put(error)
            else:
                while (arrival := read_arrival(pipe)) is not None:
                    self._arrivals.put(arrival)
                    self._wait_for_room()
        self._arrivals.put(None)

    def _wait_for_room(self) -> None:
        while self._arrivals.qsize() >= AHEAD_BLOCKS and not self._closed.wait(0.01):
            pass
