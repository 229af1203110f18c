"""The intercom: one stream of all channels of one device, and patience when it goes away.

The audio system's own thread calls back with samples. That call only copies them into a queue: it
never waits, and what the queue has no room for is counted. Nothing else is done on that thread.
"""

import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from queue import Empty, SimpleQueue
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.capture.arrival import Arrivals
from voxlog.capture.block import Block
from voxlog.capture.portaudio import (
    LIBRARY,
    Device,
    choose,
    library,
    list_devices,
    look_again,
    possible_rate,
    silenced,
)
from voxlog.errors import InputError

__all__ = ["DeviceSource", "open_device"]

BLOCKS_A_SECOND = 20
LATENCY_SECONDS = 0.2
"""Buffer asked of the audio system. On a device without a sound server between, the program may be
held up for so long before samples are lost; behind one (PulseAudio) 1.0 made blocks 0.3 s late."""

QUEUE_BLOCKS = 30 * BLOCKS_A_SECOND
GONE_SECONDS = 1.0
"""Without a block for so long the device is taken to be away."""

OPENING_SECONDS = 3.0
"""What the first block after opening may take."""

RETRY_SECONDS = 1.0
CLOSE_SECONDS = 2.0


class _Arrival(NamedTuple):
    samples: NDArray[np.int16]  # shape (n, channels)
    monotonic_ns: int
    wall_ns: int
    dropped: int
    opening: int  # of which opening of the device, counted from 0


class _Stream:
    """One opening of the device."""

    def __init__(
        self, device: Device, channels: int, rate: int, queue: SimpleQueue[Any], opening: int
    ) -> None:
        self._queue = queue
        self._opening = opening
        self._dropped = 0
        with LIBRARY, silenced():
            self._stream = library().InputStream(
                device=device.number,
                channels=channels,
                samplerate=rate,
                dtype="int16",
                blocksize=rate // BLOCKS_A_SECOND,
                latency=LATENCY_SECONDS,
                callback=self._take,
            )
            try:
                self._stream.start()
            except Exception:
                self.close()
                raise

    def close(self) -> None:
        """Drivers of devices that are away may never return, so this waits only so long."""
        closing = threading.Thread(target=self._close, name="device-close", daemon=True)
        closing.start()
        closing.join(CLOSE_SECONDS)

    def _close(self) -> None:
        with suppress(Exception):  # PortAudio's own, or any after the library was ended
            self._stream.abort()
        with suppress(Exception):
            self._stream.close()

    def _take(self, samples: NDArray[np.int16], count: int, _time: object, _status: object) -> None:
        # The overflow flag of `_status` is not asked: some systems never set it and some do
        # without a loss (PortAudio#130, #171). Arrivals goes by the clock.
        if self._queue.qsize() >= QUEUE_BLOCKS:
            self._dropped += count
            return
        dropped, self._dropped = self._dropped, 0
        clocks = time.monotonic_ns(), time.time_ns()
        self._queue.put(_Arrival(samples.copy(), *clocks, dropped, self._opening))


class DeviceSource:
    """A device as a source of blocks. It is open, and takes audio, from the beginning on.

    Once it runs it raises nothing. A device that goes away is opened again, by its name, for as
    long as it takes; the block after that says in `lost` how long it was away.

    Args:
        device: which; see `open_device`.
        channels: the first so many of it.
        rate: samples a second that it is to give.

    Raises:
        InputError: it cannot be opened.
    """

    def __init__(self, device: Device, channels: int, rate: int) -> None:
        self.channels = channels
        self.rate = rate
        self.name = device.name
        self.fault = ""
        self._device = device
        self._queue: SimpleQueue[_Arrival | None] = SimpleQueue()
        self._openings = 0
        self._opener = threading.Thread()
        self._stopped = threading.Event()
        try:
            self._stream = self._open(device)
        except library().PortAudioError as error:
            raise InputError(
                f"device {device.name}: {_reason(error)}; see voxlog devices"
            ) from error

    def blocks(self) -> Iterator[Block]:
        arrivals = Arrivals(self.rate)
        patience_s, opening = OPENING_SECONDS, 0
        while True:
            try:
                arrival = self._wait(patience_s)
            except Empty:
                patience_s = OPENING_SECONDS
                self._see_to_it()
                continue
            if arrival is None:
                break
            count, clock = len(arrival.samples), arrival.monotonic_ns
            if arrival.opening == opening:
                # Also after a hold-up in which nothing was lost: then all that was due comes now.
                first, lost = arrivals.place(count, clock, arrival.dropped)
            else:
                opening = arrival.opening
                first, lost = arrivals.place_after_gap(count, clock)
            self.fault, patience_s = "", GONE_SECONDS
            samples = np.ascontiguousarray(arrival.samples.T)
            yield Block(samples, first, clock, arrival.wall_ns, lost)
        if not self._opener.is_alive():
            self._stream.close()

    def _wait(self, seconds: float) -> _Arrival | None:
        """Twice half as long: where the whole program was held up, the device's call comes too.

        To open the device again would throw away what the audio system kept meanwhile.
        """
        try:
            return self._queue.get(timeout=seconds / 2)
        except Empty:
            return self._queue.get(timeout=seconds / 2)

    def stop(self) -> None:
        self._stopped.set()
        self._queue.put(None)

    def _open(self, device: Device) -> _Stream:
        stream = _Stream(device, self.channels, self.rate, self._queue, self._openings)
        self._openings += 1
        return stream

    def _see_to_it(self) -> None:
        """Opens the device again on a thread of its own, because a driver may never return."""
        self.fault = f"device {self.name}: gives no audio; trying to open it again"
        if not self._opener.is_alive():
            self._opener = threading.Thread(target=self._reopen, name="device-open", daemon=True)
            self._opener.start()

    def _reopen(self) -> None:
        self._stream.close()
        while not self._stopped.is_set():
            try:
                self._stream = self._open_by_name()
            except (InputError, library().PortAudioError, OSError):
                self._stopped.wait(RETRY_SECONDS)
            else:
                break
        if self._stopped.is_set():
            self._stream.close()

    def _open_by_name(self) -> _Stream:
        """PortAudio numbers devices anew, so the number of before may be another's."""
        look_again()
        found = next(
            (
                d
                for d in list_devices()
                if (d.name, d.host) == (self._device.name, self._device.host)
            ),
            None,
        )
        if found is None:
            raise InputError(f"device {self.name}: not there")
        return self._open(found)


def open_device(wanted: str | None = None, channels: int | None = None) -> DeviceSource:
    """Opens an input for recording.

    Args:
        wanted: its number or (part of) its name; the system's own choice if not given.
        channels: how many of it; all that it has if not given.

    Raises:
        InputError: PortAudio or the device is absent, has too few channels, or cannot be opened.
    """
    devices = list_devices()
    device = _default(devices) if wanted is None else choose(devices, wanted)
    channels = channels or device.channels
    if channels > device.channels:
        raise InputError(
            f"device {device.name}: has {device.channels} channels and not {channels};"
            " see voxlog devices"
        )
    return DeviceSource(device, channels, possible_rate(device, channels))


def _default(devices: tuple[Device, ...]) -> Device:
    number = library().default.device[0]
    return next((device for device in devices if device.number == number), devices[0])


def _reason(error: Exception) -> str:
    """What PortAudio says, without its error number."""
    text = str(error.args[0]) if error.args else str(error)
    return f"cannot be opened ({text.split(' [PaErrorCode')[0]})"
