"""From AU to FLAC: nothing goes before what takes its place is proved."""

import hashlib
import os
import resource
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.capture.blocks import RATE, blocks_of, noise
from voxlog.capture import finish as module
from voxlog.capture.finish import finish
from voxlog.capture.journal import Journal
from voxlog.errors import InputError

NOISE = noise(3, 100_000)


def record(folder: Path, rate: int = RATE, samples: int = 100_000) -> None:
    journal = Journal(folder, 3, rate)
    for block in blocks_of(NOISE[:, :samples], 8000):
        journal.push(block)
    journal.close()


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


FLACS = ["channel-1.flac", "channel-2.flac", "channel-3.flac"]


@pytest.mark.parametrize(("rate", "samples"), [(16_000, 100_000), (44_100, 100_000), (48_000, 1)])
def test_it_becomes_flac_bit_for_bit(rate: int, samples: int, tmp_path: Path) -> None:
    record(tmp_path, rate, samples)
    stored = finish(tmp_path)
    assert names(tmp_path) == FLACS
    for channel, expected in zip(stored, NOISE[:, :samples], strict=True):
        info = soundfile.info(channel.path)
        assert (info.format, info.subtype, info.samplerate) == ("FLAC", "PCM_16", rate)
        assert np.array_equal(soundfile.read(channel.path, dtype="int16")[0], expected)
        assert channel.samples == samples
        assert channel.sha256 == hashlib.sha256(channel.path.read_bytes()).hexdigest()
        # RFC 9639, 8.2: the MD5 of the samples is in STREAMINFO
        md5 = hashlib.md5(expected.astype("<i2").tobytes()).digest()
        assert channel.path.read_bytes()[26:42] == md5


def test_after_a_crash_all_channels_are_equally_long(tmp_path: Path) -> None:
    record(tmp_path)
    os.truncate(tmp_path / "channel-2.au", 32 + 2 * 90_000 + 1)
    for channel, expected in zip(finish(tmp_path), NOISE[:, :90_000], strict=True):
        assert np.array_equal(soundfile.read(channel.path, dtype="int16")[0], expected)


def test_broken_off_it_can_be_called_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between any two of its steps: each of them is made to be the last one."""
    really = module.sync_directory
    for last in range(1, 7):
        folder = tmp_path / str(last)
        record(folder)
        os.truncate(folder / "channel-3.au", 32 + 2 * 95_000)
        left = iter(range(last))

        def sync(path: Path, left: object = left) -> None:
            if next(left, None) is None:  # type: ignore[call-overload]
                raise KeyboardInterrupt
            really(path)

        monkeypatch.setattr(module, "sync_directory", sync)
        if last < 6:
            with pytest.raises(KeyboardInterrupt):
                finish(folder)
        monkeypatch.setattr(module, "sync_directory", really)
        for channel, expected in zip(finish(folder), NOISE[:, :95_000], strict=True):
            assert np.array_equal(soundfile.read(channel.path, dtype="int16")[0], expected)
        assert names(folder) == FLACS


def test_a_flac_that_is_not_the_same_is_not_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A byte is changed between writing and proving."""
    record(tmp_path)
    really = module.sync_directory

    def spoil(folder: Path) -> None:
        really(folder)
        flac = folder / "channel-1.flac"
        data = bytearray(flac.read_bytes())
        data[len(data) // 2] ^= 1
        flac.write_bytes(data)

    monkeypatch.setattr(module, "sync_directory", spoil)
    with pytest.raises(InputError, match=r"the audio is still in channel-1\.au"):
        finish(tmp_path)
    assert names(tmp_path) == ["channel-1.au", "channel-2.au", "channel-3.au"]


def test_a_full_disk_leaves_the_journal(tmp_path: Path) -> None:
    record(tmp_path)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, hard))
    try:
        with pytest.raises(InputError, match="free some space and resume"):
            finish(tmp_path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert names(tmp_path) == ["channel-1.au", "channel-2.au", "channel-3.au"]
    assert [channel.samples for channel in finish(tmp_path)] == [100_000] * 3


def test_a_run_without_a_sample_is_one_line(tmp_path: Path) -> None:
    record(tmp_path, samples=0)
    with pytest.raises(InputError, match="0 samples"):
        finish(tmp_path)
    assert names(tmp_path) == ["channel-1.au", "channel-2.au", "channel-3.au"]


def test_a_folder_without_audio_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no audio of a run"):
        finish(tmp_path)
