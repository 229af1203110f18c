"""The length an MP3 promises, on files of the LAME coder that ffmpeg carries."""

from pathlib import Path

import pytest

from tests.audio.sounds import convert, tone, write
from voxlog.audio.mp3 import read_xing_frames


@pytest.mark.parametrize("rate", [44_100, 16_000, 8_000])
@pytest.mark.parametrize("quality", [("-b:a", "32k"), ("-q:a", "4")], ids=["constant", "variable"])
def test_the_xing_header_promises_all_samples(
    rate: int, quality: tuple[str, str], tmp_path: Path
) -> None:
    source = write(tmp_path / "a.wav", tone(3.0, rate), rate)
    title = ("-metadata", "title=" + "long " * 60)
    path = convert(source, tmp_path / "a.mp3", *quality, *title)
    promised = read_xing_frames(path)
    assert promised is not None
    assert 3.0 * rate <= promised <= 3.0 * rate + 4 * 1152


def test_no_xing_header_is_no_promise(tmp_path: Path) -> None:
    source = write(tmp_path / "a.wav", tone(1.0, 44_100), 44_100)
    path = convert(source, tmp_path / "a.mp3", "-q:a", "4", "-write_xing", "0")
    assert read_xing_frames(path) is None


@pytest.mark.parametrize("content", [b"", b"ID3", b"Xing", b"\xffXing\0\0\0\1", bytes(3000)])
def test_odd_bytes_are_no_promise(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "odd.mp3"
    path.write_bytes(content)
    assert read_xing_frames(path) is None
