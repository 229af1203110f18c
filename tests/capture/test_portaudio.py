"""Which device is meant, and what is said where there is none or no PortAudio."""

import importlib
from types import ModuleType

import pytest

from tests.capture.fake_sounddevice import install
from voxlog.capture.portaudio import Device, choose, library, list_devices, possible_rate
from voxlog.errors import InputError

DEVICES = (
    Device(1, "Desk interface: USB Audio (hw:1,0)", "ALSA", 4, 48_000),
    Device(2, "Desk microphone", "ALSA", 1, 44_100),
    Device(7, "pulse", "ALSA", 32, 44_100),
    Device(8, "pulse monitor", "ALSA", 32, 44_100),
)


@pytest.mark.parametrize(
    ("wanted", "number"),
    [
        ("1", 1),
        ("8", 8),
        ("pulse", 7),  # the whole name before a part of one
        ("Pulse mon", 8),
        ("usb audio", 1),
        ("MICROPHONE", 2),
    ],
)
def test_a_device_is_chosen_by_number_or_name(wanted: str, number: int) -> None:
    assert choose(DEVICES, wanted).number == number


@pytest.mark.parametrize(
    ("wanted", "message"),
    [
        ("3", "device 3: no such input; see voxlog devices"),
        ("headset", "device headset: no such input; see voxlog devices"),
        ("desk", "device desk: may be any of 1, 2; give the number"),
    ],
)
def test_what_is_not_one_device_is_one_line(wanted: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        choose(DEVICES, wanted)
    assert str(caught.value) == message


def test_only_inputs_are_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    install(monkeypatch)
    assert list_devices() == (
        Device(1, "Desk interface: USB Audio (hw:1,0)", "ALSA", 4, 48_000),
        Device(2, "Desk microphone", "ALSA", 1, 44_100),
    )


def test_no_input_at_all_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    fake = install(monkeypatch)
    fake.devices = fake.devices[:1]
    with pytest.raises(InputError, match="no audio input found; connect one"):
        list_devices()


@pytest.mark.parametrize(
    ("rates", "expected"), [({16_000, 48_000}, 16_000), ({48_000, 96_000}, 48_000)]
)
def test_16_khz_is_taken_where_it_is_offered(
    rates: set[int], expected: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    install(monkeypatch).rates = rates
    assert possible_rate(DEVICES[0], 4) == expected


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (ModuleNotFoundError("No module named 'sounddevice'"), "pip install 'voxlog[record]'"),
        (OSError("PortAudio library not found"), "apt-get install libportaudio2"),
    ],
)
def test_what_is_not_installed_is_named(
    error: Exception, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: str) -> ModuleType:
        raise error

    monkeypatch.setattr(importlib, "import_module", fail)
    with pytest.raises(InputError) as caught:
        library()
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)
