"""PortAudio, found when it is needed: a machine without it logs recordings all the same."""

import importlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from voxlog.errors import InputError

__all__ = ["Device", "choose", "library", "list_devices", "possible_rate"]

PREFERRED_RATE = 16_000
NO_PACKAGE = "recording needs one more package; pip install 'voxlog[record]'"
NO_LIBRARY = (
    "recording needs PortAudio; Debian, Ubuntu: apt-get install libportaudio2;"
    " Fedora: dnf install portaudio; macOS, Windows: reinstall sounddevice, which brings it"
)


@dataclass(frozen=True)
class Device:
    """An input as PortAudio lists it.

    `number` holds until devices come or go; `name` and `host`, the sound system it belongs to, hold
    longer. `rate` is the device's own, in samples a second.
    """

    number: int
    name: str
    host: str
    channels: int
    rate: int


def library() -> Any:
    """The module sounddevice; InputError with what to install where it or its library is absent."""
    try:
        return importlib.import_module("sounddevice")
    except ImportError:
        raise InputError(NO_PACKAGE) from None
    except OSError:
        raise InputError(NO_LIBRARY) from None


def list_devices() -> tuple[Device, ...]:
    """All inputs that were there when PortAudio was loaded: it looks for them once.

    Raises:
        InputError: PortAudio is absent, or there is no input.
    """
    sounddevice = library()
    hosts = [host["name"] for host in sounddevice.query_hostapis()]
    found = tuple(
        Device(
            number=number,
            name=str(one["name"]),
            host=hosts[one["hostapi"]],
            channels=int(one["max_input_channels"]),
            rate=round(one["default_samplerate"]),
        )
        for number, one in enumerate(sounddevice.query_devices())
        if one["max_input_channels"] > 0
    )
    if not found:
        raise InputError("no audio input found; connect one, then see voxlog devices")
    return found


def choose(devices: Sequence[Device], wanted: str) -> Device:
    """The device that is meant by a number, a name, or a part of a name that only one has.

    Raises:
        InputError: none or several are meant.
    """
    if wanted.isdecimal():
        fitting = [device for device in devices if device.number == int(wanted)]
    else:
        fitting = [d for d in devices if d.name == wanted] or [
            device for device in devices if wanted.casefold() in device.name.casefold()
        ]
    if not fitting:
        raise InputError(f"device {wanted}: no such input; see voxlog devices")
    if len(fitting) > 1:
        numbers = ", ".join(str(device.number) for device in fitting)
        raise InputError(f"device {wanted}: may be any of {numbers}; give the number")
    return fitting[0]


def possible_rate(device: Device, channels: int) -> int:
    """16,000 samples a second where the device offers that, else its own rate."""
    sounddevice = library()
    try:
        sounddevice.check_input_settings(
            device=device.number, channels=channels, dtype="int16", samplerate=PREFERRED_RATE
        )
    except sounddevice.PortAudioError:
        return device.rate
    return PREFERRED_RATE
