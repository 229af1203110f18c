"""Real devices: a sound server's monitor, through PortAudio, onto the disk."""

import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from queue import Queue

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.capture.blocks import RATE, noise
from tests.capture.fake_sounddevice import wait_until
from tests.capture.sound_server import SoundServer, sound_server, why_not
from tests.conftest import ROOT
from voxlog.capture.journal import recover

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(why_not() != "", reason=why_not() or "there is one"),
]


class Recorder:
    """The program that records, and the lines it says."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self._lines: Queue[str] = Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._lines.put(line.strip())

    def wait_for(self, word: str, seconds: float = 15.0) -> list[str]:
        """The line that begins so; those before it are passed over."""
        end = time.monotonic() + seconds
        while True:
            words = self._lines.get(timeout=max(0.01, end - time.monotonic())).split()
            if words[0] == word:
                return words

    def end(self) -> int:
        """Ends it: samples that it kept."""
        assert self.process.stdin is not None
        self.process.stdin.close()
        return int(self.wait_for("end")[1])


@contextmanager
def recorder(server: SoundServer, channels: int, folder: Path) -> Iterator[Recorder]:
    command = [sys.executable, "-m", "tests.capture.device_child", server.device]
    with subprocess.Popen(
        [*command, str(channels), str(folder)],
        cwd=ROOT,
        env=server.environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as process:
        try:
            yield Recorder(process)
        finally:
            process.kill()


def captured(folder: Path) -> NDArray[np.int16]:
    return np.concatenate(list(recover(folder).blocks()), axis=1)


def play(server: SoundServer, samples: NDArray[np.int16], folder: Path) -> None:
    raw = folder / "played.raw"
    samples.T.astype("<i2").tofile(raw)
    server.play(raw)


def offset_of(part: NDArray[np.int16], whole: NDArray[np.int16]) -> int:
    """Where one channel's part lies in what was captured of it; -1 if nowhere, bit for bit."""
    for start in np.flatnonzero(whole == part[0]):
        if np.array_equal(whole[start : start + len(part)], part):
            return int(start)
    return -1


def test_every_channel_arrives_bit_for_bit_in_its_place(tmp_path: Path) -> None:
    """But for the first tenth of a second, in which the server takes the player in."""
    played = noise(4, 2 * RATE, seed=8)
    with (
        sound_server(tmp_path / "pulse", 4) as server,
        recorder(server, 4, tmp_path / "audio") as recording,
    ):
        recording.wait_for("ready")
        play(server, played, tmp_path)
        time.sleep(0.5)
        kept = recording.end()
    got = captured(tmp_path / "audio")
    assert got.shape == (4, kept)
    inner = slice(RATE // 10, 2 * RATE - RATE // 10)
    offsets = {offset_of(one[inner], other) for one, other in zip(played, got, strict=True)}
    assert len(offsets) == 1
    assert offsets.pop() >= 0


def test_a_device_that_goes_away_and_comes_back_is_a_gap(tmp_path: Path) -> None:
    """The server is killed and started again some seconds later: time has not stood still."""
    before, after = noise(2, RATE, seed=1), noise(2, RATE, seed=2)
    inner = slice(RATE // 10, RATE - RATE // 10)
    with (
        sound_server(tmp_path / "pulse", 2) as server,
        recorder(server, 2, tmp_path / "audio") as recording,
    ):
        recording.wait_for("ready")
        started = time.monotonic()
        play(server, before, tmp_path)
        server.stop()
        recording.wait_for("away", 4)
        time.sleep(2)
        server.start()
        _, first, lost = recording.wait_for("lost")
        between = time.monotonic() - started
        play(server, after, tmp_path)
        time.sleep(0.5)
        recording.end()
    got = captured(tmp_path / "audio")
    one, two = offset_of(before[0][inner], got[0]), offset_of(after[0][inner], got[0])
    assert 0 <= one < two
    assert int(lost) > 3 * RATE
    assert not got[:, int(first) - int(lost) : int(first)].any()
    # The two were played `between` apart; pacat takes some tenths to begin, more on a busy machine.
    assert (two - one) / RATE == pytest.approx(between, abs=0.3)


def test_killed_while_it_records_it_loses_less_than_a_second(tmp_path: Path) -> None:
    with (
        sound_server(tmp_path / "pulse", 2) as server,
        recorder(server, 2, tmp_path / "audio") as recording,
    ):
        recording.wait_for("ready")
        started = time.monotonic()
        time.sleep(1.5)
        recording.process.kill()
        lasted = time.monotonic() - started
    assert recover(tmp_path / "audio").samples >= (lasted - 1.0) * RATE


def test_killed_it_leaves_nobody_listening(tmp_path: Path) -> None:
    with (
        sound_server(tmp_path / "pulse", 2) as server,
        recorder(server, 2, tmp_path / "audio") as recording,
    ):
        recording.wait_for("ready")
        assert server.listeners() == 1
        recording.process.kill()
        wait_until(lambda: server.listeners() == 0, 10)


def test_held_up_for_ten_seconds_it_loses_nothing(tmp_path: Path) -> None:
    """The recording stands still, as on a machine out of memory, and is then ended at once."""
    played = noise(4, 3 * RATE, seed=3)
    inner = slice(RATE // 10, 3 * RATE - RATE // 10)
    with (
        sound_server(tmp_path / "pulse", 4) as server,
        recorder(server, 4, tmp_path / "audio") as recording,
    ):
        recording.wait_for("ready")
        started = time.monotonic()
        recording.process.send_signal(signal.SIGSTOP)
        play(server, played, tmp_path)
        time.sleep(max(0.0, started + 10 - time.monotonic()))
        recording.process.send_signal(signal.SIGCONT)
        kept = recording.end()
    got = captured(tmp_path / "audio")
    assert kept > 9.5 * RATE
    assert min(offset_of(a[inner], b) for a, b in zip(played, got, strict=True)) >= 0
