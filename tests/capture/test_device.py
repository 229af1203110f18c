"""A device as a source: nothing waits, nothing is raised, and what is lost is counted."""

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.capture.fake_program import fake_program
from tests.capture.fake_sounddevice import wait_until
from tests.capture.scripted_program import Scripted
from voxlog.capture import device as module
from voxlog.capture import opening
from voxlog.capture.block import Block
from voxlog.capture.device import DeviceSource
from voxlog.errors import InputError

PATIENCE_S = 20.0  # programs are started, on a machine that may be busy

SLOW = pytest.mark.slow

AWAY = "device Desk interface: gives no audio; trying to open it again"


@pytest.fixture(autouse=True)
def _impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "RETRY_SECONDS", 0.02)


class Listener:
    """Takes a source's blocks on a thread, and notes its faults."""

    def __init__(self, source: DeviceSource) -> None:
        self.source = source
        self.blocks: list[Block] = []
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        for block in self.source.blocks():
            self.blocks.append(block)

    def wait_for(self, count: int) -> None:
        wait_until(lambda: len(self.blocks) >= count, PATIENCE_S)

    def wait_until_away(self) -> None:
        wait_until(lambda: self.source.fault != "", PATIENCE_S)

    def end(self) -> list[Block]:
        self.source.stop()
        self._thread.join(PATIENCE_S)
        assert not self._thread.is_alive()
        return self.blocks


def taken(blocks: list[Block]) -> Iterator[tuple[int, int, int]]:
    """(index of the block's first sample, lost before it, its first sample's value)."""
    for block in blocks:
        yield block.first, block.lost, int(block.samples[0, 0])


@pytest.mark.parametrize(
    ("wanted", "channels", "name", "opened"),
    [
        (None, None, "Desk microphone", 1),
        ("usb", None, "Desk interface: USB Audio (hw:1,0)", 4),
        ("usb", 2, "Desk interface: USB Audio (hw:1,0)", 2),
    ],
)
def test_one_stream_gives_all_channels(
    wanted: str | None,
    channels: int | None,
    name: str,
    opened: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """From PortAudio's callback to the block, but for PortAudio."""
    monkeypatch.setattr(opening, "PROGRAM", fake_program())
    listener = Listener(DeviceSource(wanted, channels))
    listener.wait_for(4)
    blocks = listener.end()
    source = listener.source
    assert (source.name, source.channels, source.rate) == (name, opened, 16_000)
    assert [one for one, _ in zip(taken(blocks), range(4), strict=False)] == [
        (0, 0, 0),
        (800, 0, 800),
        (1600, 0, 1600),
        (2400, 0, 2400),
    ]
    assert blocks[0].samples.shape == (opened, 800)
    assert blocks[0].samples.dtype == np.int16
    assert [b.monotonic_ns for b in blocks] == sorted(b.monotonic_ns for b in blocks)
    assert abs(blocks[0].wall_ns - time.time_ns()) < 60_000_000_000


@pytest.mark.parametrize(
    ("what", "wanted", "channels", "message"),
    [
        ("", "headset", None, "device headset: no such input; see voxlog devices"),
        ("", "2", 2, "device Desk microphone: has 1 channels and not 2; see voxlog devices"),
        (
            "refuse",
            "2",
            None,
            "device Desk microphone: cannot be opened (Error opening InputStream: Device"
            " unavailable); see voxlog devices",
        ),
    ],
)
def test_what_cannot_be_had_is_one_line(
    what: str,
    wanted: str,
    channels: int | None,
    message: str,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    """Whatever ALSA writes beside it."""
    monkeypatch.setattr(opening, "PROGRAM", fake_program(what))
    with pytest.raises(InputError) as caught:
        DeviceSource(wanted, channels)
    assert str(caught.value) == message
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    "end",
    ["half(); die()", *(pytest.param(f"{how}hang()", marks=SLOW) for how in ("", "half(); "))],
)
def test_a_device_that_vanishes_is_opened_again_by_its_name(
    end: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """After it was not there for a while; and what a gap lasts is what the clock says."""
    back = tmp_path / "back"
    away = f"os.path.exists({str(back)!r}) or (refuse('not there'), die()); opened(); give_on()"
    scripted = Scripted(monkeypatch, tmp_path, f"opened(); give(20); {end}", "die()", away)
    listener = Listener(DeviceSource("desk", 2))
    listener.wait_until_away()
    assert listener.source.fault == AWAY
    wait_until(lambda: len(scripted.asked()) >= 3, PATIENCE_S)
    assert len(listener.blocks) == 20
    back.touch()
    listener.wait_for(23)
    assert listener.source.fault == ""
    blocks = listener.end()
    assert set(scripted.asked()[1:]) == {"'Desk interface' 2 'ALSA' 16000"}
    # Of the first twenty, which came faster than they last, the one that was least late counts.
    last_due = min(block.monotonic_ns * 16 // 1_000_000 - block.end for block in blocks[:20])
    due = blocks[20].monotonic_ns * 16 // 1_000_000 - last_due
    assert blocks[20].lost == pytest.approx(due - blocks[19].end - 800, abs=2)
    assert blocks[20].first == blocks[19].end + blocks[20].lost
    assert [value for _, _, value in taken(blocks[18:23])] == [14_400, 15_200, 0, 800, 1600]
    assert [block.lost for block in blocks[1:20] + blocks[21:]] == [0] * (len(blocks) - 2)


@pytest.mark.slow
def test_a_driver_that_hangs_in_opening_is_given_up_and_the_next_may_do(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    scripted = Scripted(
        monkeypatch, tmp_path, "opened(); give(3); hang()", "hang()", "opened(); hang()",
        "opened(); give_on()",
    )  # fmt: skip
    source = DeviceSource("desk")
    monkeypatch.setattr(opening, "START_SECONDS", 2.0)
    monkeypatch.setattr(opening, "OPENING_SECONDS", 1.0)
    listener = Listener(source)
    listener.wait_for(6)
    blocks = listener.end()
    assert len(scripted.asked()) >= 4
    assert blocks[3].lost > 0
    assert [value for _, _, value in taken(blocks[:5])] == [0, 800, 1600, 0, 800]


@pytest.mark.parametrize(
    "away", ["hang()", "refuse('not there')", pytest.param("opened(); hang()", marks=SLOW)]
)
def test_while_it_is_away_it_can_be_stopped(
    away: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Sooner than it would be given up."""
    scripted = Scripted(monkeypatch, tmp_path, "opened(); give(3); die()", away)
    listener = Listener(DeviceSource("desk"))
    wait_until(lambda: len(scripted.asked()) >= 2, PATIENCE_S)
    before = time.monotonic()
    assert len(listener.end()) == 3
    assert time.monotonic() - before < opening.START_SECONDS


def test_what_was_taken_before_the_stop_is_given(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """More than the pipe and the recording's own queue hold."""
    monkeypatch.setattr(opening, "AHEAD_BLOCKS", 5)
    Scripted(monkeypatch, tmp_path, "opened(); give(200)")
    source = DeviceSource("desk")
    source.stop()
    assert [block.first for block in source.blocks()] == [800 * n for n in range(200)]


@pytest.mark.slow
def test_a_device_that_crashes_each_time_is_not_opened_all_the_time(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(module, "RETRY_SECONDS", 1.5)
    scripted = Scripted(monkeypatch, tmp_path, "opened(); give(1); die()")
    before = time.monotonic()
    listener = Listener(DeviceSource("desk"))
    listener.wait_for(3)
    listener.end()
    assert len(scripted.asked()) <= 2 + (time.monotonic() - before) / 1.5
