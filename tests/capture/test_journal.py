"""The journal: on the disk within a second, never in the way, readable after any end."""

import errno
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from tests.capture.blocks import RATE, blocks_of, noise
from tests.conftest import ROOT
from voxlog.capture import journal as module
from voxlog.capture.au import AuFile
from voxlog.capture.journal import Journal, JournalNews, channel_files, recover
from voxlog.errors import InputError

NOISE = noise(3, 40_000)


def kept(folder: Path) -> NDArray[np.int16]:
    """Read by libsndfile, which must be able to."""
    return np.stack([soundfile.read(p, dtype="int16")[0] for p in channel_files(folder, ".au")])


def wait_until(question: Callable[[], bool], seconds: float = 5.0) -> None:
    end = time.monotonic() + seconds
    while not question():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.01)


def test_each_channel_has_its_file(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "audio", 3, RATE)
    for block in blocks_of(NOISE):
        journal.push(block)
    assert journal.close() == 40_000
    assert sorted(path.name for path in (tmp_path / "audio").iterdir()) == [
        "channel-1.au",
        "channel-2.au",
        "channel-3.au",
    ]
    assert np.array_equal(kept(tmp_path / "audio"), NOISE)
    assert journal.fault == ""
    assert journal.take_news() == []


def test_what_can_wait_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Memory for four blocks, and fifty that come at once."""
    monkeypatch.setattr(module, "HELD_BYTES", 4 * NOISE[:, :800].nbytes)
    journal = Journal(tmp_path, 3, RATE)
    for block in blocks_of(NOISE):
        journal.push(block)
        journal.wait_for_room()
    assert journal.close() == 40_000
    assert journal.take_news() == []
    assert np.array_equal(kept(tmp_path), NOISE)


def test_blocks_of_another_device_are_refused(tmp_path: Path) -> None:
    journal = Journal(tmp_path, 2, RATE)
    with pytest.raises(ValueError, match="2 channels expected, 3 came"):
        journal.push(next(blocks_of(NOISE)))
    journal.close()


def test_it_is_safe_within_a_second_and_says_so(tmp_path: Path) -> None:
    journal = Journal(tmp_path, 3, RATE)
    for block in blocks_of(NOISE):
        journal.push(block)
    started = time.monotonic()
    wait_until(lambda: journal.safe_samples == 40_000)
    assert time.monotonic() - started < 1.0
    assert journal.held_bytes == 0
    journal.close()


def test_what_was_lost_is_silence_in_its_place(tmp_path: Path) -> None:
    journal = Journal(tmp_path, 3, RATE)
    for block in [*blocks_of(NOISE[:, :1000]), *blocks_of(NOISE[:, 1000:], first=500_000)]:
        journal.push(block)
    assert journal.close() == 539_000
    got = kept(tmp_path)
    assert np.array_equal(got[:, :1000], NOISE[:, :1000])
    assert not got[:, 1000:500_000].any()
    assert np.array_equal(got[:, 500_000:], NOISE[:, 1000:])


@pytest.mark.parametrize(
    ("make", "again", "channels", "rate", "message"),
    [
        (2, False, 2, RATE, "there already; name another folder, or resume that run"),
        (2, True, 2, 48_000, "not 48000 samples a second"),
    ],
)
def test_files_of_another_run_are_not_touched(
    make: int, again: bool, channels: int, rate: int, message: str, tmp_path: Path
) -> None:
    Journal(tmp_path, make, RATE).close()
    with pytest.raises(InputError, match=message):
        Journal(tmp_path, channels, rate, goes_on=again)


def test_killed_before_all_files_were_made_it_can_go_on(tmp_path: Path) -> None:
    Journal(tmp_path, 1, RATE).close()
    journal = Journal(tmp_path, 3, RATE, goes_on=True)
    for block in blocks_of(NOISE):
        journal.push(block)
    journal.close()
    assert np.array_equal(kept(tmp_path), NOISE)


def test_a_folder_that_cannot_be_made_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="audio cannot be kept"):
        Journal(tmp_path / "file" / "audio", 1, RATE)


# What breaks off.


@pytest.mark.parametrize(
    ("cuts", "samples", "longest"),
    [
        ((0, 0, 0), 40_000, 40_000),
        ((1, 0, 0), 39_999, 40_000),
        ((0, 1601, 2), 39_199, 40_000),
        ((10, 10, 11), 39_994, 39_995),
        ((80_000, 0, 0), 0, 40_000),  # no more than a header
    ],
)
def test_all_channels_are_cut_to_the_same_whole_samples(
    cuts: tuple[int, ...], samples: int, longest: int, tmp_path: Path
) -> None:
    journal = Journal(tmp_path, 3, RATE)
    for block in blocks_of(NOISE):
        journal.push(block)
    journal.close()
    sizes = []
    for path, cut in zip(channel_files(tmp_path, ".au"), cuts, strict=True):
        os.truncate(path, path.stat().st_size - cut)
        sizes.append(path.stat().st_size)
    found = recover(tmp_path)
    assert (found.rate, found.samples, found.longest) == (RATE, samples, longest)
    assert len(found.paths) == 3
    got = list(found.blocks())
    assert sum(part.shape[1] for part in got) == samples
    if got:
        assert np.array_equal(np.concatenate(got, axis=1), NOISE[:, :samples])
    assert [path.stat().st_size for path in found.paths] == sizes


def test_a_run_that_broke_off_goes_on_behind_what_it_had(tmp_path: Path) -> None:
    first = Journal(tmp_path, 3, RATE)
    for block in blocks_of(NOISE[:, :1000]):
        first.push(block)
    first.close()
    os.truncate(tmp_path / "channel-2.au", 32 + 1999)  # half a sample
    found = recover(tmp_path)
    assert (found.samples, found.longest) == (999, 1000)
    again = Journal(tmp_path, 3, RATE, goes_on=True)
    for block in blocks_of(NOISE[:, 1000:], first=9000):
        again.push(block)
    assert again.close() == 48_000
    assert recover(tmp_path).samples == 48_000
    got = kept(tmp_path)
    assert np.array_equal(got[:, :999], NOISE[:, :999])
    assert np.array_equal(got[:, 9000:], NOISE[:, 1000:])


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ({}, "no audio of a run that broke off"),
        ({"channel-2.au": b""}, "no audio of a run that broke off"),
        ({"channel-1.au": b"RIFF" + bytes(40)}, "not as voxlog writes it"),
    ],
)
def test_a_folder_without_a_journal_is_one_line(
    content: dict[str, bytes], message: str, tmp_path: Path
) -> None:
    for name, data in content.items():
        (tmp_path / name).write_bytes(data)
    with pytest.raises(InputError, match=message):
        recover(tmp_path)


def kill_after(folder: Path, seconds: float, channels: int = 4) -> tuple[int, NDArray[np.int16]]:
    """Starts a program that records, kills it: (samples it had been given, what is on the disk)."""
    command = [sys.executable, "-m", "tests.capture.journal_child", str(folder), str(channels)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE) as child:
        assert child.stdout is not None
        child.stdout.readline()
        time.sleep(seconds)
        child.send_signal(signal.SIGKILL)
        given = int(child.stdout.read().split()[-1])
    found = recover(folder)
    return given, np.concatenate(list(found.blocks()), axis=1)


@pytest.mark.slow
def test_killed_at_any_moment_it_loses_less_than_a_second(tmp_path: Path) -> None:
    """SIGKILL: the program gets no chance to write or close anything."""
    moments = random.Random(4)
    original = noise(4, 60 * RATE)
    for number in range(10):
        folder = tmp_path / str(number)
        given, got = kill_after(folder, moments.uniform(0.05, 1.2))
        assert given - got.shape[1] <= RATE
        assert np.array_equal(got, original[:, : got.shape[1]])


# A disk that takes nothing.


@contextmanager
def file_limit(size: int) -> Iterator[None]:
    """No file of this process may grow beyond `size`, as on a disk with a quota."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_full_disk_stops_the_file_and_not_the_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "RETRY_SECONDS", 0.05)
    journal = Journal(tmp_path, 3, RATE)
    blocks = list(blocks_of(NOISE))
    with file_limit(20_001):  # in the middle of a sample
        for block in blocks:
            journal.push(block)
        wait_until(lambda: journal.fault != "")
        assert journal.fault == (
            f"{tmp_path}: audio cannot be kept ({os.strerror(errno.EFBIG)}); free some space"
        )
        time.sleep(0.2)  # several tries, one complaint
    wait_until(lambda: journal.fault == "")
    assert journal.close() == 40_000
    news = [(one.what, one.first) for one in journal.take_news()]
    assert news == [("stopped", 9600), ("going-on", 9600)]
    assert np.array_equal(kept(tmp_path), NOISE)


@pytest.mark.slow
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    """A small disk in memory, filled by somebody else and freed again while the run goes on."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(disk)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("mounting a small disk needs root")
    try:
        journal = Journal(disk / "audio", 3, RATE)
        (disk / "other").write_bytes(bytes(140_000))
        for block in blocks_of(NOISE):
            journal.push(block)
        wait_until(lambda: journal.fault != "")
        assert os.strerror(errno.ENOSPC) in journal.fault
        assert shutil.disk_usage(disk).free < 4096
        so_far = np.concatenate(list(recover(disk / "audio").blocks()), axis=1)
        assert 0 < so_far.shape[1] < 40_000
        assert np.array_equal(so_far, NOISE[:, : so_far.shape[1]])
        (disk / "other").unlink()
        wait_until(lambda: journal.fault == "")
        assert journal.close() == 40_000
        assert [one.what for one in journal.take_news()] == ["stopped", "going-on"]
        assert np.array_equal(kept(disk / "audio"), NOISE)
    finally:
        subprocess.run(["umount", "--lazy", str(disk)], check=True)


def test_what_memory_does_not_hold_is_lost_and_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three blocks fit; the disk comes back after ten; the ten that follow are kept."""
    monkeypatch.setattr(module, "RETRY_SECONDS", 0.02)
    blocks = list(blocks_of(NOISE))
    monkeypatch.setattr(module, "HELD_BYTES", 3 * blocks[0].samples.nbytes)
    journal = Journal(tmp_path, 3, RATE)
    with file_limit(32):
        for block in blocks[:10]:
            journal.push(block)
        wait_until(lambda: journal.fault != "")
    wait_until(lambda: journal.held_bytes == 0)
    for block in blocks[10:20]:
        journal.push(block)
        wait_until(lambda: journal.held_bytes == 0)
    assert journal.close() == 16_000
    assert journal.take_news()[-1] == JournalNews(
        "lost", "5600 samples could not be kept; the audio has silence there", 2400, 5600
    )
    got = kept(tmp_path)
    assert np.array_equal(got[:, :2400], NOISE[:, :2400])
    assert not got[:, 2400:8000].any()
    assert np.array_equal(got[:, 8000:], NOISE[:, 8000:16_000])


def test_the_end_waits_only_so_long_for_a_full_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "RETRY_SECONDS", 0.02)
    monkeypatch.setattr(module, "CLOSE_SECONDS", 0.1)
    journal = Journal(tmp_path, 3, RATE)
    with file_limit(20_001):
        for block in blocks_of(NOISE):
            journal.push(block)
        wait_until(lambda: journal.fault != "")
        assert journal.close() == 9600
    assert [(one.what, one.first, one.samples) for one in journal.take_news()] == [
        ("stopped", 9600, 0),
        ("lost", 9600, 30_400),
    ]
    assert recover(tmp_path).samples == 9600


@pytest.mark.parametrize("stalled", ["write", "sync"])
def test_a_disk_that_stalls_holds_nobody_up(
    stalled: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pushing takes no time; and a disk that is slow to synchronise still gets all that comes."""
    gate = threading.Event()
    really = getattr(AuFile, stalled)

    def stall(*arguments: object) -> None:
        gate.wait(10)
        really(*arguments)

    monkeypatch.setattr(AuFile, stalled, stall)
    journal = Journal(tmp_path, 3, RATE)
    started = time.monotonic()
    for block in blocks_of(NOISE):
        journal.push(block)
    assert time.monotonic() - started < 2  # and the gate is shut for ten
    if stalled == "sync":
        wait_until(lambda: journal.held_bytes == 0)
        assert np.array_equal(kept(tmp_path), NOISE)
    assert journal.safe_samples == 0
    gate.set()
    assert journal.close() == 40_000
    assert np.array_equal(kept(tmp_path), NOISE)


def test_a_disk_that_fails_to_synchronise_is_a_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failing = threading.Event()
    failing.set()
    really = AuFile.sync

    def sync(file: AuFile) -> None:
        if failing.is_set():
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        really(file)

    monkeypatch.setattr(AuFile, "sync", sync)
    journal = Journal(tmp_path, 3, RATE)
    for block in blocks_of(NOISE):
        journal.push(block)
    wait_until(lambda: journal.fault != "")
    assert [one.what for one in journal.take_news()] == ["stopped"]
    failing.clear()
    wait_until(lambda: journal.fault == "")
    assert journal.close() == 40_000
