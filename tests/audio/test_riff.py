"""Chunk sizes, the 64-bit forms of EBU Tech 3306 included."""

import struct
from pathlib import Path

import pytest

from tests.audio.sounds import cut_short, tone, write
from voxlog.audio.riff import Chunk, find_chunk, promised_frames, read_chunks


@pytest.mark.parametrize(
    ("container", "subtype"),
    [
        ("WAV", "PCM_U8"),
        ("WAV", "PCM_16"),
        ("WAV", "PCM_24"),
        ("WAV", "FLOAT"),
        ("WAVEX", "PCM_32"),
        ("RF64", "PCM_16"),
        ("RF64", "DOUBLE"),
    ],
)
def test_the_promise_outlives_a_cut(container: str, subtype: str, tmp_path: Path) -> None:
    path = write(tmp_path / "a.wav", tone(0.5, channels=3), format=container, subtype=subtype)
    assert promised_frames(path, read_chunks(path)) == 8000
    cut_short(path)
    assert promised_frames(path, read_chunks(path)) == 8000


def test_a_size_beyond_32_bits_comes_from_the_ds64_chunk(tmp_path: Path) -> None:
    """Written by hand after Tech 3306: 5 GiB of mono 16-bit audio, of which nothing is there."""
    data = 5 * 2**30
    path = tmp_path / "large.wav"
    path.write_bytes(
        struct.pack("<4sI4s", b"RF64", 0xFFFFFFFF, b"WAVE")
        + struct.pack("<4sIQQQI", b"ds64", 28, data + 80, data, data // 2, 0)
        + struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, 1, 16000, 32000, 2, 16)
        + struct.pack("<4sI", b"data", 0xFFFFFFFF)
    )
    chunks = read_chunks(path)
    assert find_chunk(chunks, b"data") == Chunk(b"data", 80, data)
    assert promised_frames(path, chunks) == data // 2


@pytest.mark.parametrize("size", [0, 0x7FFFF000, 0xFFFFFFFF])
def test_a_size_left_open_by_a_pipe_is_no_promise(size: int, tmp_path: Path) -> None:
    path = write(tmp_path / "a.wav", tone(0.1), subtype="PCM_16")
    whole = bytearray(path.read_bytes())
    place = whole.find(b"data") + 4
    whole[place : place + 4] = struct.pack("<I", size)
    path.write_bytes(whole)
    assert promised_frames(path, read_chunks(path)) is None


@pytest.mark.parametrize(
    "content", [b"", b"RIFF", b"RIFF\x10\0\0\0AVI LIST", b"fLaC" + bytes(40), b"\xff\xd8" * 40]
)
def test_what_is_no_wav_has_no_chunks(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "other"
    path.write_bytes(content)
    assert read_chunks(path) == ()
