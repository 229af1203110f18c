"""A device as a source: nothing waits, nothing is raised, and what is lost is counted."""

import os
import threading
import time
from collections.abc import Iterator

import numpy as np
import pytest

from tests.capture.fake_sounddevice import FakeSounddevice, PortAudioError, install, wait_until
from voxlog.capture import device as module
from voxlog.capture.block import Block
from voxlog.capture.device import DeviceSource, open_device
from voxlog.errors import InputError


@pytest.fixture
def fake(monkeypatch: pytest.MonkeyPatch) -> FakeSounddevice:
    return install(monkeypatch)


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A device without audio for a third of a second is taken to be away."""
    monkeypatch.setattr(module, "GONE_SECONDS", 0.3)
    monkeypatch.setattr(module, "OPENING_SECONDS", 0.6)
    monkeypatch.setattr(module, "RETRY_SECONDS", 0.02)


class Listener:
    """Takes a source's blocks on a thread."""

    def __init__(self, source: DeviceSource) -> None:
        self.source = source
        self.blocks: list[Block] = []
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        for block in self.source.blocks():
            self.blocks.append(block)

    def wait_for(self, count: int) -> None:
        wait_until(lambda: len(self.blocks) >= count)

    def end(self) -> list[Block]:
        self.source.stop()
        self._thread.join(5)
        assert not self._thread.is_alive()
        return self.blocks


def taken(blocks: list[Block]) -> Iterator[tuple[int, int, int]]:
    """(index of the block's first sample, lost before it, its first sample's value)."""
    for block in blocks:
        yield block.first, block.lost, int(block.samples[0, 0])


@pytest.mark.parametrize(
    ("wanted", "channels", "number", "opened"),
    [(None, None, 2, 1), ("usb", None, 1, 4), ("usb", 2, 1, 2), ("2", 1, 2, 1)],
)
def test_one_stream_takes_all_channels(
    wanted: str | None, channels: int | None, number: int, opened: int, fake: FakeSounddevice
) -> None:
    listener = Listener(open_device(wanted, channels))
    listener.wait_for(4)
    blocks = listener.end()
    (stream,) = fake.streams
    assert (stream.device, stream.channels, stream.rate) == (number, opened, 16_000)
    assert [one for one, _ in zip(taken(blocks), range(4), strict=False)] == [
        (0, 0, 0),
        (800, 0, 800),
        (1600, 0, 1600),
        (2400, 0, 2400),
    ]
    assert blocks[0].samples.shape == (opened, 800)
    assert blocks[0].samples.dtype == np.int16
    assert [b.monotonic_ns for b in blocks] == sorted(b.monotonic_ns for b in blocks)
    assert abs(blocks[0].wall_ns - time.time_ns()) < 10_000_000_000


@pytest.mark.parametrize(
    ("wanted", "channels", "message"),
    [
        ("headset", None, "device headset: no such input; see voxlog devices"),
        ("2", 2, "device Desk microphone: has 1 channels and not 2; see voxlog devices"),
    ],
)
def test_what_cannot_be_had_is_one_line(
    wanted: str, channels: int | None, message: str, fake: FakeSounddevice
) -> None:
    with pytest.raises(InputError) as caught:
        open_device(wanted, channels)
    assert str(caught.value) == message


def test_a_device_in_use_is_one_line(
    fake: FakeSounddevice, capfd: pytest.CaptureFixture[str]
) -> None:
    """Whatever ALSA writes beside it."""

    def refuse() -> None:
        os.write(2, b"ALSA lib pcm.c: Unknown PCM\nExpression 'r' failed in 'pa_linux_alsa.c'\n")
        raise PortAudioError("Error opening InputStream: Device unavailable [PaErrorCode -9985]")

    fake.on_open = refuse
    with pytest.raises(InputError) as caught:
        open_device("2")
    assert str(caught.value) == (
        "device Desk microphone: cannot be opened (Error opening InputStream: Device unavailable);"
        " see voxlog devices"
    )
    assert capfd.readouterr() == ("", "")


def test_a_device_that_vanishes_is_opened_again_by_its_name(
    fake: FakeSounddevice, impatient: None
) -> None:
    """Under another number, after it was not there for a while, and refused once."""
    listener = Listener(open_device("usb", 2))
    listener.wait_for(3)
    with_it = fake.devices
    fake.devices = with_it[2:]
    fake.silent.set()
    wait_until(lambda: listener.source.fault != "")
    assert listener.source.fault == (
        "device Desk interface: USB Audio (hw:1,0): gives no audio; trying to open it again"
    )
    wait_until(lambda: fake.looked_again >= 3)
    refusals = iter([PortAudioError("Device unavailable")])

    def refuse_once() -> None:
        for error in refusals:
            raise error

    fake.on_open = refuse_once
    before = len(listener.blocks)
    fake.silent.clear()
    fake.devices = [with_it[1], with_it[0]]
    listener.wait_for(before + 3)
    assert listener.source.fault == ""
    blocks = listener.end()
    assert [stream.device for stream in fake.streams] == [1, 0]
    away, back = blocks[before - 1], blocks[before]
    lost_ns = back.monotonic_ns - away.monotonic_ns - 50_000_000
    assert back.lost == pytest.approx(lost_ns * 16_000 / 1e9, abs=2)
    assert back.first == away.end + back.lost
    assert back.samples[0, 0] == 0
    assert [block.lost for block in blocks[before + 1 :]] == [0] * (len(blocks) - before - 1)


def test_while_it_is_away_it_can_be_stopped(fake: FakeSounddevice, impatient: None) -> None:
    listener = Listener(open_device("usb"))
    listener.wait_for(1)
    fake.silent.set()
    fake.devices = fake.devices[2:]
    wait_until(lambda: fake.looked_again >= 1)
    started = time.monotonic()
    listener.end()
    assert time.monotonic() - started < 3


def test_what_nobody_takes_is_counted_and_holds_nothing_up(
    fake: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The listener is slow to begin; the queue holds ten blocks."""
    monkeypatch.setattr(module, "QUEUE_BLOCKS", 10)
    source = open_device("2")
    time.sleep(0.2)  # some forty blocks
    listener = Listener(source)
    listener.wait_for(20)
    blocks = listener.end()
    assert [block.first for block in blocks[:10]] == [800 * number for number in range(10)]
    assert blocks[10].lost > 0
    # The device counts its samples in them, so an index that is right is the sample itself.
    assert all(first % 32_768 == value for first, _, value in taken(blocks))
