"""Where sound goes: a device, by a player process beside this one, or a file, for rehearsal.

`play` waits until the sound was heard, so it belongs into the voice's own thread (voice.py).
"""

import contextlib
import subprocess
import sys
import threading
import time
import wave
from collections.abc import Callable
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Final, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from voxlog.errors import InputError
from voxlog.voice.player import HEADER

__all__ = ["DeviceOutput", "FileOutput", "Output", "OutputError", "Played"]

_START_S: Final = 10.0
_PATIENCE_S: Final = 4.0  # beyond the sound's own length


class OutputError(Exception):
    """The sound was not played; the text says why."""


class Played(NamedTuple):
    """When something was played: nanoseconds of time.monotonic_ns, devices' delay included."""

    start_ns: int
    end_ns: int


class Output(Protocol):
    """Plays one thing after the other."""

    def play(self, samples: NDArray[np.int16], rate: int) -> Played:
        """Mono samples. Raises OutputError; the next call tries anew."""

    def close(self) -> None: ...


class DeviceOutput:
    """An output device; wanted: its number or (part of) its name, "" for the system's own choice.

    The player is started at once, so that a wrong choice is found before the run, and again after
    it failed or hung.

    Raises:
        InputError: no such output, or PortAudio is absent.
    """

    def __init__(self, wanted: str = "", command: tuple[str, ...] = ()) -> None:
        self._command = command or (sys.executable, "-m", "voxlog.voice.player", wanted)
        self._player: subprocess.Popen[bytes] | None = None
        self._answers: SimpleQueue[str] = SimpleQueue()
        try:
            self._start()
        except OutputError as error:
            raise InputError(str(error)) from None

    def play(self, samples: NDArray[np.int16], rate: int) -> Played:
        if self._player is None:
            self._start()
        assert self._player is not None
        assert self._player.stdin is not None
        with contextlib.suppress(OSError):  # where it ended; why, it has said
            self._player.stdin.write(HEADER.pack(rate, len(samples)))
            self._player.stdin.write(samples.astype("<i2").tobytes())
            self._player.stdin.flush()
        words = self._answer(len(samples) / rate + _PATIENCE_S).split()
        return Played(int(words[1]), int(words[2]))

    def close(self) -> None:
        player, self._player = self._player, None
        if player is not None:
            player.kill()
            player.wait()
            for pipe in (player.stdin, player.stdout):
                if pipe is not None:
                    _close_pipe(pipe.close)

    def _start(self) -> None:
        self._answers = SimpleQueue()
        self._player = subprocess.Popen(  # noqa: S603 - our own program
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,  # sound systems chatter there, over the screen
            start_new_session=True,  # a Ctrl-C is for the run to end, in its own order
        )
        reader = threading.Thread(
            target=_read, args=(self._player, self._answers), name="voice-player", daemon=True
        )
        reader.start()
        self._answer(_START_S)

    def _answer(self, patience_s: float) -> str:
        """The player's next line; a player that failed or hung is ended."""
        try:
            line = self._answers.get(timeout=patience_s)
        except Empty:
            line = "failed the output hangs"
        if line.startswith("failed"):
            self.close()
            raise OutputError(line.removeprefix("failed").strip())
        return line


def _read(player: "subprocess.Popen[bytes]", answers: "SimpleQueue[str]") -> None:
    assert player.stdout is not None
    with contextlib.suppress(OSError, ValueError):  # closed by `close`
        for line in player.stdout:
            answers.put(line.decode("utf-8", "replace").strip())
    answers.put("failed the player ended")


def _close_pipe(close: Callable[[], None]) -> None:
    with contextlib.suppress(OSError):  # what could not be written to a player that ended
        close()


class FileOutput:
    """A WAV file (16-bit, mono) that has the sounds one after the other; for rehearsal and tests.

    Takes as long as a device would when `speed` is 1; 0 takes no time. The file's rate is that of
    the first sound.
    """

    def __init__(self, path: Path, speed: float = 0.0) -> None:
        try:
            self._bytes = path.open("wb")
        except OSError as error:
            raise InputError(f"{path}: {error.strerror}; name another file") from None
        self._file = wave.open(self._bytes, "wb")  # noqa: SIM115 - closed by `close`
        self._file.setnchannels(1)
        self._file.setsampwidth(2)
        self._rate = 0
        self._speed = speed

    def play(self, samples: NDArray[np.int16], rate: int) -> Played:
        if not self._rate:
            self._rate = rate
            self._file.setframerate(rate)
        if rate != self._rate:
            raise OutputError(f"{rate} samples a second into a file of {self._rate}")
        start = time.monotonic_ns()
        try:
            self._file.writeframes(samples.astype("<i2").tobytes())
        except OSError as error:
            raise OutputError(error.strerror or str(error)) from None
        if self._speed:
            time.sleep(len(samples) / rate / self._speed)
        return Played(start, start + round(1e9 * len(samples) / rate / (self._speed or 1.0)))

    def close(self) -> None:
        if not self._rate:
            self._file.setframerate(16_000)  # a WAV file without sounds is a WAV file
        self._file.close()
        self._bytes.close()
