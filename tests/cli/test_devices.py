"""`voxlog devices`: a table, levels, and one line where there is no PortAudio."""

import importlib
import re
from pathlib import Path
from types import ModuleType

import pytest
import typer

from tests.capture.fake_program import fake_program
from tests.capture.fake_sounddevice import FakeSounddevice, install
from voxlog.cli.app import main
from voxlog.cli.devices import devices, level_bar
from voxlog.errors import InputError

LISTING = """\
Number  Channels   Rate  System  Name
     1         4  48000  ALSA    Desk interface: USB Audio (hw:1,0)
     2         1  44100  ALSA    Desk microphone
"""


@pytest.fixture
def fake(monkeypatch: pytest.MonkeyPatch) -> FakeSounddevice:
    """Listed here, and opened by a program of its own."""
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setattr("voxlog.capture.opening.PROGRAM", fake_program())
    return install(monkeypatch)


def lines(text: str) -> str:
    return re.sub(r" +$", "", text, flags=re.MULTILINE)


def test_inputs_are_listed(fake: FakeSounddevice, capsys: pytest.CaptureFixture[str]) -> None:
    devices()
    assert lines(capsys.readouterr().out) == LISTING


def test_each_channel_has_its_level(
    fake: FakeSounddevice, capsys: pytest.CaptureFixture[str]
) -> None:
    """The fake's samples count up, so they reach full scale."""
    devices("usb", listen=0.5, channels=2)
    out = lines(capsys.readouterr().out)
    assert "\nDesk interface: USB Audio (hw:1,0), 0.5 s, the loudest second:\n" in out
    assert re.search(r"Channel +Level +dBFS +Peak\n +1  #{25,}-* +-[2-9] +-?\d", out)
    assert out.count("\n      2  #") == 1
    assert not re.search(r"\n +3 ", out)


def test_a_site_file_says_which_device_and_who_is_on_each_line(
    fake: FakeSounddevice, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    site = tmp_path / "site.yaml"
    site.write_text("voxlog-site: 1\nchannels: {1: conductor, 3: attendant}\ndevice: usb\n")
    devices(listen=0.5, site=site)
    out = lines(capsys.readouterr().out)
    assert "Desk microphone" not in out
    assert re.search(r"\n +1  conductor +#", out)
    assert re.search(r"\n +2 +#", out)
    assert re.search(r"\n +3  attendant +#", out)
    assert not re.search(r"\n +4 ", out)


def test_a_device_that_cannot_be_opened_is_no_reason_not_to_listen_to_the_next(
    fake: FakeSounddevice, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voxlog.capture.opening.PROGRAM", fake_program("refuse 1"))
    devices(listen=0.2)
    out = capsys.readouterr().out
    assert "USB Audio (hw:1,0): cannot be opened (Error opening InputStream: Device" in out
    assert "Desk microphone, 0.2 s" in out


def test_the_one_that_was_named_must_open(
    fake: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voxlog.capture.opening.PROGRAM", fake_program("refuse"))
    with pytest.raises(InputError, match="cannot be opened"):
        devices("usb", listen=0.2)


def test_a_device_that_gives_nothing_is_said_so(
    fake: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voxlog.capture.opening.PROGRAM", fake_program("silent"))
    monkeypatch.setattr("voxlog.capture.opening.OPENING_SECONDS", 0.1)
    with pytest.raises(InputError, match="gave no audio"):
        devices("usb", listen=0.3)


@pytest.mark.parametrize(
    ("dbfs", "filled"), [(-99, 0), (-60, 0), (-30, 15), (-3, 28), (0, 30), (3, 30)]
)
def test_a_bar_is_as_long_as_the_level(dbfs: float, filled: int) -> None:
    assert level_bar(dbfs) == "#" * filled + "-" * (30 - filled)


def test_without_portaudio_it_is_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    really = importlib.import_module

    def fail(name: str, package: str | None = None) -> ModuleType:
        if name == "sounddevice":
            raise OSError("PortAudio library not found")
        return really(name, package)

    program = typer.Typer()
    program.command("devices")(devices)
    program.callback()(lambda: None)
    monkeypatch.setattr("voxlog.cli.app.app", program)
    monkeypatch.setattr(importlib, "import_module", fail)
    assert main(["devices"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "apt-get install libportaudio2" in err
