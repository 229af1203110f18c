"""AU files: what others read of them, whatever byte they end at."""

import struct
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.audio.sounds import convert
from tests.capture.blocks import RATE, noise
from voxlog.audio.recording import open_recording
from voxlog.capture.au import AuFile, AuHeader, decode_header, encode_header, read_samples
from voxlog.errors import InputError

SAMPLES = noise(1, 5000)[0]


def by_ffmpeg(path: Path) -> NDArray[np.int16]:
    with av.open(str(path)) as container:
        frames = [frame.to_ndarray()[0] for frame in container.decode(audio=0)]
    return np.concatenate(frames).astype(np.int16)


def journal(path: Path) -> bytes:
    file = AuFile(path, RATE)
    file.write(0, SAMPLES)
    file.close()
    return path.read_bytes()


def test_the_header_is_that_of_the_format() -> None:
    """Six big-endian words: magic, offset, length (all ones: unknown), encoding 3, rate, channels.

    From Sun's audio_filehdr(4): encoding 3 is linear PCM of 16 bits.
    """
    header = encode_header(48_000)
    assert header[:24] == b".snd" + struct.pack(">5I", 32, 0xFFFFFFFF, 3, 48_000, 1)
    assert len(header) == 32


@pytest.mark.parametrize("cut", [0, 1, 2, 3, 4, 799, 800, 4999, 5000, 9998])
def test_whole_samples_are_read_by_all_wherever_it_is_cut(cut: int, tmp_path: Path) -> None:
    path = tmp_path / "channel-1.au"
    whole = journal(path)
    path.write_bytes(whole[: len(whole) - cut])
    expected = SAMPLES[: (2 * len(SAMPLES) - cut) // 2]
    samples, rate = soundfile.read(path, dtype="int16")
    assert rate == RATE
    assert np.array_equal(samples, expected)
    assert np.array_equal(by_ffmpeg(path), expected)
    assert np.array_equal(np.concatenate(list(read_samples(path, len(expected)))), expected)
    own = np.concatenate(list(open_recording([path]).blocks()), axis=1)[0]
    assert np.array_equal(own * 32768, expected.astype(np.float32))


def test_the_ffmpeg_program_converts_it(tmp_path: Path) -> None:
    journal(tmp_path / "channel-1.au")
    wav = convert(tmp_path / "channel-1.au", tmp_path / "a.wav")
    assert np.array_equal(soundfile.read(wav, dtype="int16")[0], SAMPLES)


@given(st.integers(0, 1000), st.integers(0, 300), st.integers(1, 300))
def test_what_is_skipped_is_silence(first: int, gap: int, count: int) -> None:
    """In any order of writing, and again over what is there."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.au"
        file = AuFile(path, RATE)
        after = first + count + gap
        for _ in range(2):
            file.write(after, SAMPLES[:count])
            file.write(first, SAMPLES[:count])
        file.sync()
        file.close()
        got = np.concatenate(list(read_samples(path, after + count)))
    expected = np.zeros(after + count, dtype=np.int16)
    expected[first : first + count] = SAMPLES[:count]
    expected[after:] = SAMPLES[:count]
    assert np.array_equal(got, expected)


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (encode_header(16_000), AuHeader(16_000, 32)),
        (b".snd" + struct.pack(">5I", 24, 0xFFFFFFFF, 3, 8000, 1), AuHeader(8000, 24)),
        (b"", None),
        (encode_header(16_000)[:23], None),
        (b"RIFF" + encode_header(16_000)[4:], None),
        (encode_header(0), None),
        (b".snd" + struct.pack(">5I", 4, 0xFFFFFFFF, 3, 8000, 1), None),  # samples in the header
        (b".snd" + struct.pack(">5I", 24, 0xFFFFFFFF, 1, 8000, 1), None),  # mu-law
        (b".snd" + struct.pack(">5I", 24, 0xFFFFFFFF, 3, 8000, 2), None),  # two channels
    ],
)
def test_only_own_headers_are_taken(data: bytes, expected: AuHeader | None) -> None:
    assert decode_header(data) == expected


@pytest.mark.parametrize(
    ("size", "samples"), [(0, 0), (31, 0), (32, 0), (33, 0), (34, 1), (35, 1), (36, 2)]
)
def test_whole_samples_are_counted(size: int, samples: int) -> None:
    assert AuHeader(16_000, 32).samples_in(size) == samples


def test_a_file_is_never_there_with_half_a_header(tmp_path: Path, monkeypatch: object) -> None:
    (tmp_path / "channel-1.au").write_bytes(b".snd")
    with pytest.raises(InputError, match="not as voxlog writes it"):
        AuFile(tmp_path / "channel-1.au", RATE, goes_on=True)
    AuFile(tmp_path / "channel-2.au", RATE).close()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["channel-1.au", "channel-2.au"]
