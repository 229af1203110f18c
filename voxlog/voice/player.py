"""A program that plays what it is given: `python -m voxlog.voice.player [OUTPUT]`.

It is a process of its own because PortAudio looks for devices only once, and because a broken
output driver may hang or crash: neither may touch the recording. On its standard input come pieces:
rate and count (two little-endian unsigned 32-bit numbers), then so many 16-bit samples, mono. For
each it writes a line to standard output: when it played, "played START END" (nanoseconds of the
system's monotonic clock), or "failed WHY". Its first line is "ready" or "failed WHY".
"""

import struct
import sys
import time
from collections.abc import Callable, Sequence
from typing import Any, BinaryIO, Final

import numpy as np
from numpy.typing import NDArray

from voxlog.errors import InputError

__all__ = ["HEADER", "choose_output", "main", "serve"]

HEADER: Final = struct.Struct("<II")
_LATENCY_S: Final = 0.1  # as asked of the input; less breaks up on a busy machine

Play = Callable[[NDArray[np.int16], int], None]


def main(arguments: Sequence[str]) -> int:
    """Play for as long as pieces come; 1 when the output is not there."""
    lines = sys.stdout
    try:
        play = _player(arguments[0] if arguments else "")
    except (InputError, OSError, ValueError) as error:
        print(f"failed {error}", file=lines, flush=True)
        return 1
    print("ready", file=lines, flush=True)
    return serve(sys.stdin.buffer, lambda line: print(line, file=lines, flush=True), play)


def serve(pieces: BinaryIO, say: Callable[[str], None], play: Play) -> int:
    """Plays piece after piece. It ends after a failure: the next start looks for devices anew."""
    while len(header := pieces.read(HEADER.size)) == HEADER.size:
        rate, count = HEADER.unpack(header)
        samples = np.frombuffer(pieces.read(2 * count), dtype="<i2").astype(np.int16)
        start = time.monotonic_ns()
        try:
            play(samples, rate)
        except Exception as error:  # noqa: BLE001 - PortAudio's own; whatever it is, it is reported
            say(f"failed {' '.join(str(error).split())}")
            return 1
        say(f"played {start} {time.monotonic_ns()}")
    return 0


def choose_output(devices: Sequence[Any], wanted: str) -> int:
    """The number of the output meant by a number, a name, or a part of a name that one has.

    Raises:
        InputError: none or several are meant.
    """
    outputs = [n for n, device in enumerate(devices) if device["max_output_channels"] > 0]
    names = {n: str(devices[n]["name"]) for n in outputs}
    if wanted.isdecimal():
        fitting = [n for n in outputs if n == int(wanted)]
    else:
        fitting = [n for n in outputs if names[n] == wanted] or [
            n for n in outputs if wanted.casefold() in names[n].casefold()
        ]
    if not fitting:
        there = "; ".join(f"{n} {name}" for n, name in names.items()) or "none"
        raise InputError(f"output {wanted}: no such output; there are: {there}")
    if len(fitting) > 1:
        numbers = ", ".join(map(str, fitting))
        raise InputError(f"output {wanted}: may be any of {numbers}; give the number")
    return fitting[0]


def _player(wanted: str) -> Play:
    from voxlog.capture.portaudio import library

    sounddevice = library()
    number = choose_output(sounddevice.query_devices(), wanted) if wanted else None
    found = sounddevice.query_devices(number, "output")
    channels = min(2, int(found["max_output_channels"]))

    def play(samples: NDArray[np.int16], rate: int) -> None:
        rate, samples = _at_possible_rate(sounddevice, found, samples, rate)
        beside = np.repeat(samples[:, np.newaxis], channels, axis=1)
        with sounddevice.OutputStream(
            device=found["index"],
            channels=channels,
            samplerate=rate,
            dtype="int16",
            latency=_LATENCY_S,
        ) as stream:
            stream.write(np.ascontiguousarray(beside))
            stream.stop()  # waits until all was heard

    return play


def _at_possible_rate(
    sounddevice: Any, found: Any, samples: NDArray[np.int16], rate: int
) -> tuple[int, NDArray[np.int16]]:
    """The samples at their own rate where the device takes that, else at the device's."""
    try:
        sounddevice.check_output_settings(
            device=found["index"], channels=1, dtype="int16", samplerate=rate
        )
    except sounddevice.PortAudioError:
        import soxr

        other = round(found["default_samplerate"])
        return other, np.asarray(soxr.resample(samples, rate, other), dtype=np.int16)
    return rate, samples


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
