"""A stand-in for the module sounddevice: devices that can be unplugged, dropped and lied about."""

import threading
import time
from collections.abc import Callable
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import pytest

Callback = Callable[[Any, int, object, object], None]


class PortAudioError(Exception):
    """As sounddevice's."""


class FakeSounddevice:
    """Everything that voxlog asks of the module.

    Attributes:
        devices: as query_devices lists them.
        silent: while set, open streams give nothing, as those of a device that was unplugged.
        on_open: called when a stream is opened; it may refuse or hang.
        on_abort: the same when a stream is aborted.
    """

    PortAudioError = PortAudioError

    def __init__(self) -> None:
        self.devices = [
            self.device("Speakers", 0),
            self.device("Desk interface: USB Audio (hw:1,0)", 4, rate=48_000),
            self.device("Desk microphone", 1),
        ]
        self.hosts = ["ALSA"]
        self.default = SimpleNamespace(device=(2, 0))
        self.rates = {16_000, 48_000}
        self.silent = threading.Event()
        self.streams: list[FakeStream] = []
        self.on_open: Callable[[], None] = lambda: None
        self.on_abort: Callable[[], None] = lambda: None

    @staticmethod
    def device(name: str, channels: int, rate: float = 44_100.0) -> dict[str, Any]:
        return {
            "name": name,
            "hostapi": 0,
            "max_input_channels": channels,
            "default_samplerate": rate,
        }

    def query_hostapis(self) -> list[dict[str, Any]]:
        return [{"name": name} for name in self.hosts]

    def query_devices(self) -> list[dict[str, Any]]:
        return self.devices

    def check_input_settings(self, *, samplerate: int, **_: object) -> None:
        if samplerate not in self.rates:
            raise PortAudioError("Invalid sample rate [PaErrorCode -9997]", -9997)

    def InputStream(self, **how: Any) -> "FakeStream":  # noqa: N802  # as it is called there
        self.on_open()
        stream = FakeStream(self, **how)
        self.streams.append(stream)
        return stream


class FakeStream:
    """Calls back with the numbers 0, 1, 2, ... in every channel; `speed` times as fast as told."""

    speed = 10.0

    def __init__(
        self,
        module: FakeSounddevice,
        *,
        device: int,
        channels: int,
        samplerate: int,
        dtype: str,
        blocksize: int,
        latency: float,
        callback: Callback,
    ) -> None:
        assert dtype == "int16"
        assert 0 < latency < 1
        self.device, self.channels, self.rate = device, channels, samplerate
        self._module, self._size, self._callback = module, blocksize, callback
        self._closed = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> None:
        self._thread.start()

    def abort(self) -> None:
        self._module.on_abort()
        self._closed.set()
        self._thread.join()

    def close(self) -> None:
        self._closed.set()

    def _run(self) -> None:
        first = 0
        buffer = np.zeros((self._size, self.channels), dtype=np.int16)  # one for all, as there
        while not self._closed.wait(self._size / self.rate / self.speed):
            if not self._module.silent.is_set():
                buffer[:] = (np.arange(first, first + self._size) % 32_768)[:, np.newaxis]
                self._callback(buffer, self._size, None, None)
                first += self._size


def install(monkeypatch: "pytest.MonkeyPatch") -> FakeSounddevice:
    fake = FakeSounddevice()
    monkeypatch.setitem(__import__("sys").modules, "sounddevice", fake)
    return fake


def wait_until(question: Callable[[], bool], seconds: float = 5.0) -> None:
    end = time.monotonic() + seconds
    while not question():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.01)
