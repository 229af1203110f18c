"""What goes between the recording and the device program: what is asked for, and what comes.

The question is the program's arguments. Its answer is a line of JSON: the input, or why there is
none. Then come arrivals: a header (little-endian), then the samples as the device gave them, 16
bits, the channels beside each other. A program that was killed may leave half of one.
"""

import json
import struct
from collections.abc import Sequence
from typing import IO, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.errors import InputError

__all__ = [
    "Arrival",
    "Input",
    "read_answer",
    "read_arrival",
    "write_answer",
    "write_arrival",
    "write_refusal",
]

_HEADER: Final = struct.Struct("<IHqqQ")


class Input(NamedTuple):
    """A device as it is asked for, and as it was opened: then it has all of this.

    Attributes:
        device: its number or (part of) its name, "" for the system's own choice. With `host`, the
            whole name: to ask for what was opened is to ask for that one and no other.
        channels: the first so many of it; 0 for all.
        host: the sound system it belongs to, as PortAudio calls it.
        rate: samples a second; 0 for 16,000 where it offers that, else its own.
    """

    device: str = ""
    channels: int = 0
    host: str = ""
    rate: int = 0

    def arguments(self) -> tuple[str, ...]:
        return tuple(map(str, self))

    @classmethod
    def of(cls, arguments: Sequence[str]) -> "Input":
        device, channels, host, rate = arguments
        return cls(device, int(channels), host, int(rate))


class Arrival(NamedTuple):
    """Samples that the audio system gave at once.

    Attributes:
        samples: shape (n, channels).
        monotonic_ns: time.monotonic_ns when they came. That clock is system-wide (Python's manual:
            since 3.5, on macOS since 3.10), so it is the recording's own.
        wall_ns: time.time_ns then.
        dropped: samples a channel before them that there was no room for.
    """

    samples: NDArray[np.int16]
    monotonic_ns: int
    wall_ns: int
    dropped: int


def write_answer(pipe: IO[bytes], opened: Input) -> None:
    _write_line(pipe, {"opened": opened.arguments()})


def write_refusal(pipe: IO[bytes], why: str) -> None:
    _write_line(pipe, {"refused": why})


def read_answer(pipe: IO[bytes]) -> Input:
    """InputError with the program's own line where it could not open the device."""
    line = pipe.readline()
    if not line.endswith(b"\n"):
        raise InputError("audio input: cannot be opened (its driver crashed); see voxlog devices")
    answer = json.loads(line)
    if "refused" in answer:
        raise InputError(answer["refused"])
    return Input.of(answer["opened"])


def write_arrival(pipe: IO[bytes], arrival: Arrival) -> None:
    count, channels = arrival.samples.shape
    clocks = arrival.monotonic_ns, arrival.wall_ns
    pipe.write(_HEADER.pack(count, channels, *clocks, arrival.dropped))
    pipe.write(arrival.samples.astype("<i2", copy=False).tobytes())
    pipe.flush()


def read_arrival(pipe: IO[bytes]) -> Arrival | None:
    """The next one; None where the program ended, also in the middle of one."""
    header = pipe.read(_HEADER.size)
    if len(header) < _HEADER.size:
        return None
    count, channels, monotonic_ns, wall_ns, dropped = _HEADER.unpack(header)
    data = pipe.read(2 * count * channels)
    if len(data) < 2 * count * channels:
        return None
    samples = np.frombuffer(data, dtype="<i2").astype(np.int16).reshape(count, channels)
    return Arrival(samples, monotonic_ns, wall_ns, dropped)


def _write_line(pipe: IO[bytes], answer: dict[str, object]) -> None:
    pipe.write(json.dumps(answer).encode("ascii") + b"\n")
    pipe.flush()
