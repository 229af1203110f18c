"""The kept audio: whole, exact and durable, or not there at all."""

import errno
import hashlib
import os
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import pytest
import soundfile

from tests.audio.sounds import tone, write
from voxlog.audio.recording import open_recording
from voxlog.audio.store import AudioStore
from voxlog.errors import InputError

NOISE = np.random.default_rng(3).standard_normal((3, 50_000)).astype(np.float32) * 0.2


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_each_channel_is_a_flac_of_16_bits(tmp_path: Path) -> None:
    with AudioStore(tmp_path / "run" / "audio", 3) as store:
        store.write(NOISE[:, :20_000])
        assert names(tmp_path / "run" / "audio") == [
            "channel-1.flac.part",
            "channel-2.flac.part",
            "channel-3.flac.part",
        ]
        store.write(NOISE[:, 20_000:])
    assert names(tmp_path / "run" / "audio") == [
        "channel-1.flac",
        "channel-2.flac",
        "channel-3.flac",
    ]
    for kept, expected in zip(store.channels, NOISE, strict=True):
        info = soundfile.info(kept.path)
        assert (info.samplerate, info.channels, info.frames) == (16_000, 1, 50_000)
        assert info.subtype == "PCM_16"
        assert kept.samples == 50_000
        assert kept.sha256 == hashlib.sha256(kept.path.read_bytes()).hexdigest()
        samples, _ = soundfile.read(kept.path, dtype="float32")
        assert np.abs(samples - expected).max() <= 0.5 / 32768


def test_sixteen_bits_at_16_khz_come_back_bit_for_bit(tmp_path: Path) -> None:
    """Every 16-bit value, and the check sum that FLAC keeps (RFC 9639, 8.2: MD5 in STREAMINFO)."""
    values = np.arange(-32768, 32768, dtype=np.int16)
    soundfile.write(tmp_path / "a.wav", values, 16_000, subtype="PCM_16")
    with AudioStore(tmp_path / "audio", 1) as store:
        for block in open_recording([tmp_path / "a.wav"]).blocks(1.0):
            store.write(block)
    (kept,) = store.channels
    assert np.array_equal(soundfile.read(kept.path, dtype="int16")[0], values)
    assert kept.path.read_bytes()[26:42] == hashlib.md5(values.astype("<i2").tobytes()).digest()


def test_what_is_too_loud_is_clipped_and_does_not_wrap(tmp_path: Path) -> None:
    with AudioStore(tmp_path, 1) as store:
        store.write(np.array([[1.5, 1.0, -1.0, -1.5]], dtype=np.float32))
    values, _ = soundfile.read(store.channels[0].path, dtype="int16")
    assert values.tolist() == [32767, 32767, -32768, -32768]


def test_an_exception_leaves_nothing_behind(tmp_path: Path) -> None:
    store = AudioStore(tmp_path / "audio", 2)
    with pytest.raises(ValueError, match="shorter"), store:
        store.write(NOISE[:1])
    assert names(tmp_path / "audio") == []
    assert store.channels == ()


def test_a_power_cut_leaves_only_files_named_part(tmp_path: Path) -> None:
    """A child process that ends without any clean-up."""
    child = os.fork()
    if child == 0:
        store = AudioStore(tmp_path / "audio", 2).__enter__()
        store.write(NOISE[:2])
        os._exit(9)
    os.waitpid(child, 0)
    assert names(tmp_path / "audio") == ["channel-1.flac.part", "channel-2.flac.part"]


class _FullDisk:
    """Opens the kernel's always full device in place of every file that is to be written."""

    def __init__(self) -> None:
        self._open = Path.open

    def open(self, path: Path, mode: str = "r", *rest: Any, **more: Any) -> BinaryIO:
        target = Path("/dev/full") if "w" in mode else path
        return self._open(target, mode.replace("w+", "r+"), *rest, **more)  # type: ignore[return-value]


@pytest.mark.parametrize("samples", [100, 500_000], ids=["seen at the end", "seen on the way"])
def test_a_full_disk_is_one_line_that_helps(
    samples: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    full = _FullDisk()
    monkeypatch.setattr(Path, "open", lambda *args, **more: full.open(*args, **more))
    noise = np.random.default_rng(3).standard_normal((1, samples)).astype(np.float32)
    with pytest.raises(InputError) as caught, AudioStore(tmp_path / "audio", 1) as store:
        store.write(noise)
    assert str(caught.value) == (
        f"{tmp_path / 'audio' / 'channel-1.flac'}: {os.strerror(errno.ENOSPC)};"
        " free some space or name another output folder"
    )
    assert names(tmp_path / "audio") == []
    assert capfd.readouterr() == ("", "")


def test_a_folder_that_cannot_be_made_is_one_line(tmp_path: Path) -> None:
    write(tmp_path / "run.wav", tone(0.1))
    with (
        pytest.raises(InputError, match="another output folder"),
        AudioStore(tmp_path / "run.wav" / "audio", 1),
    ):
        pass
