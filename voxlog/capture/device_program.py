"""A program that opens a device and passes on what it gives; see `wire` for what it reads and says.

python -m voxlog.capture.device_program DEVICE CHANNELS HOST RATE

It is a process of its own because drivers hang, in opening and closing, where nothing within the
process helps (PortAudio#535, #1037; rust-portaudio#165: ALSA's plugin for a PulseAudio that is
gone), and because PortAudio looks for devices only once. The recording kills a program whose device
gives nothing and starts another. It ends when its standard input does: as the recording asks, or
because the recording is gone, however it went.
"""

import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from queue import SimpleQueue
from typing import Any, BinaryIO, Final

import numpy as np
from numpy.typing import NDArray

from voxlog.capture.portaudio import Device, choose, library, list_devices, possible_rate
from voxlog.capture.wire import Arrival, Input, write_answer, write_arrival, write_refusal
from voxlog.errors import InputError

__all__ = ["BLOCKS_A_SECOND", "Taken", "main", "open_input", "pass_on"]

BLOCKS_A_SECOND: Final = 20
LATENCY_SECONDS: Final = 0.2
"""Buffer asked of the audio system. On a device without a sound server between, the program may be
held up for so long before samples are lost; behind one (PulseAudio) 1.0 made blocks 0.3 s late."""

MORE_URGENT: Final = -10
"""Niceness: what the audio system keeps for this program is short, and it needs next to no time."""

QUEUE_BLOCKS = 30 * BLOCKS_A_SECOND
LAST_SECONDS = 5.0
"""What passing on what is there, and closing the device, may take after the end of the input."""

Callback = Callable[[NDArray[np.int16], int, object, object], None]


class Taken:
    """What the audio system's own thread has given, until it is passed on."""

    def __init__(self) -> None:
        self._queue: SimpleQueue[Arrival | None] = SimpleQueue()
        self._dropped = 0

    def take(self, samples: NDArray[np.int16], count: int, _time: object, _status: object) -> None:
        """The callback: it copies and never waits, and counts what there is no room for."""
        # The overflow flag of `_status` is not asked: some systems never set it and some do
        # without a loss (PortAudio#130, #171). Arrivals goes by the clock.
        if self._queue.qsize() >= QUEUE_BLOCKS:
            self._dropped += count
            return
        dropped, self._dropped = self._dropped, 0
        self._queue.put(Arrival(samples.copy(), time.monotonic_ns(), time.time_ns(), dropped))

    def end(self) -> None:
        self._queue.put(None)

    def next(self) -> Arrival | None:
        """Waits for it; None when all before the end was given."""
        return self._queue.get()


def main(arguments: Sequence[str]) -> int:
    """Until the standard input ends; 1 when the device cannot be opened."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_IGN)  # they are for the recording, which ends in order
    with suppress(OSError, AttributeError):  # where that is allowed, and there is such a thing
        os.nice(MORE_URGENT)
    pipe = _output()
    taken = Taken()
    try:
        # First, because on Windows no library loads while a thread reads a pipe (numpy#24290).
        library()
        threading.Thread(target=_end_with_input, args=(taken,), daemon=True).start()
        opened, stream = open_input(Input.of(arguments), taken.take)
    except InputError as error:
        write_refusal(pipe, str(error))
        return 1
    with suppress(OSError):  # nobody is there any more
        write_answer(pipe, opened)
        pass_on(taken, pipe)
    with suppress(OSError):
        pipe.close()  # before the device: nobody need wait for its driver
    with suppress(Exception):  # PortAudio's own
        stream.abort()
        stream.close()
    return 0


def open_input(asked: Input, callback: Callback) -> tuple[Input, Any]:
    """What was opened, and PortAudio's stream, which calls back from now on.

    Raises:
        InputError: PortAudio or the device is absent, has too few channels, or cannot be opened.
    """
    device = _find(asked, list_devices())
    channels = asked.channels or device.channels
    if channels > device.channels:
        raise InputError(
            f"device {device.name}: has {device.channels} channels and not {channels};"
            " see voxlog devices"
        )
    rate = asked.rate or possible_rate(device, channels)
    try:
        stream = library().InputStream(
            device=device.number,
            channels=channels,
            samplerate=rate,
            dtype="int16",
            blocksize=rate // BLOCKS_A_SECOND,
            latency=LATENCY_SECONDS,
            callback=callback,
        )
        stream.start()
    except Exception as error:
        raise InputError(f"device {device.name}: {_reason(error)}; see voxlog devices") from error
    return Input(device.name, channels, device.host, rate), stream


def pass_on(taken: Taken, pipe: BinaryIO) -> None:
    """Writes what comes until the end of it; OSError where nobody reads."""
    while (arrival := taken.next()) is not None:
        write_arrival(pipe, arrival)


def _find(asked: Input, devices: Sequence[Device]) -> Device:
    """PortAudio numbers devices anew each time, so one that was open is known by name and host."""
    if asked.host:
        for device in devices:
            if (device.name, device.host) == (asked.device, asked.host):
                return device
        raise InputError(f"device {asked.device}: not there; see voxlog devices")
    if asked.device:
        return choose(devices, asked.device)
    number = library().default.device[0]
    return next((device for device in devices if device.number == number), devices[0])


def _reason(error: Exception) -> str:
    """What PortAudio says, without its error number."""
    text = str(error.args[0]) if error.args else str(error)
    return f"cannot be opened ({text.split(' [PaErrorCode')[0]})"


def _output() -> BinaryIO:
    """The standard output for itself: what a driver prints goes the way of the error output."""
    pipe = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    return pipe


def _end_with_input(taken: Taken) -> None:
    """In order if that is possible, else by force: a driver may never return."""
    sys.stdin.buffer.read()
    taken.end()
    time.sleep(LAST_SECONDS)
    os._exit(1)


if __name__ == "__main__":
    os._exit(main(sys.argv[1:]))  # what libraries do at an exit may hang too
