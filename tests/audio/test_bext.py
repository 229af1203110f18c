"""Broadcast Wave time references: EBU Tech 3285 v2, on chunks written by the ffmpeg program."""

import struct
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from wavinfo import WavInfoReader

from tests.audio.sounds import convert, tone, write
from voxlog.audio.bext import Bext, parse_bext, read_bext

METADATA = {
    "description": "Run 7, altitude",
    "originator": "C-12",
    "originator_reference": "XX-0042",
    "origination_date": "2026-03-14",
    "origination_time": "09:30:00",
    "time_reference": "547208000",
}


def broadcast_wave(folder: Path, *options: str, rate: int = 16_000) -> Path:
    source = write(folder / "source.wav", tone(0.2, rate), rate)
    tags = [word for key, value in METADATA.items() for word in ("-metadata", f"{key}={value}")]
    return convert(source, folder / "broadcast.wav", "-write_bext", "1", *options, *tags)


@pytest.mark.parametrize("options", [(), ("-rf64", "always")], ids=["RIFF", "RF64"])
def test_a_chunk_of_another_writer_is_read(options: tuple[str, ...], tmp_path: Path) -> None:
    path = broadcast_wave(tmp_path, *options)
    assert read_bext(path) == Bext(
        description="Run 7, altitude",
        originator="C-12",
        originator_reference="XX-0042",
        date=datetime(2026, 3, 14).date(),
        time=datetime(2026, 3, 14, 9, 30).time(),
        time_reference_samples=547_208_000,
        version=1,
    )


@pytest.mark.parametrize("options", [(), ("-rf64", "always")], ids=["RIFF", "RF64"])
def test_another_reader_reads_the_same(options: tuple[str, ...], tmp_path: Path) -> None:
    path = broadcast_wave(tmp_path, *options)
    ours, theirs = read_bext(path), WavInfoReader(str(path)).bext
    assert ours is not None
    assert ours.description == theirs.description
    assert ours.originator == theirs.originator
    assert ours.originator_reference == theirs.originator_ref
    assert f"{ours.date} {ours.time}" == f"{theirs.originator_date} {theirs.originator_time}"
    assert ours.time_reference_samples == theirs.time_reference
    assert ours.version == theirs.version


def chunk(
    date: bytes = b"2026-03-14", time: bytes = b"09:30:00", samples: int = 547_208_000
) -> Bext:
    """By the table of Tech 3285 v2, section 2.3: 602 bytes before the coding history."""
    content = struct.pack(
        "<256s32s32s10s8sQH64s190s", b"", b"", b"", date, time, samples, 2, b"", b""
    )
    assert len(content) == 602
    found = parse_bext(content)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("bext", "rate", "expected"),
    [
        # Midnight plus TimeReference over the file's own rate: 34,200.5 s at 16 kHz.
        (chunk(), 16_000, "2026-03-14T09:30:00.500000+00:00"),
        (chunk(samples=48_000 * 34_200 + 24_000), 48_000, "2026-03-14T09:30:00.500000+00:00"),
        (chunk(samples=44_100 * 86_399 + 44_099), 44_100, "2026-03-14T23:59:59.999977+00:00"),
        # The origination time stands in for a reference that is 0 or no time of day.
        (chunk(samples=0), 16_000, "2026-03-14T09:30:00+00:00"),
        (chunk(samples=16_000 * 86_400), 16_000, "2026-03-14T09:30:00+00:00"),
        (chunk(samples=2**64 - 1), 16_000, "2026-03-14T09:30:00+00:00"),
        (chunk(samples=0, time=b"00:00:00"), 16_000, "2026-03-14T00:00:00+00:00"),
        # Other separators that the standard allows, and a missing time.
        (chunk(date=b"2026_03.14", time=b"09-30 00"), 16_000, "2026-03-14T09:30:00.500000+00:00"),
        (chunk(samples=0, time=b""), 16_000, "2026-03-14T00:00:00+00:00"),
        # No date, no start.
        (chunk(date=b""), 16_000, None),
        (chunk(date=b"2026-02-30"), 16_000, None),
        (chunk(date=b"0000-00-00"), 16_000, None),
        (chunk(samples=2**64 - 1, time=b"25:00:00"), 16_000, None),
    ],
)
def test_start(bext: Bext, rate: int, expected: str | None) -> None:
    start = bext.start(rate)
    assert (start.isoformat() if start else None) == expected


def test_the_callers_zone_is_the_recorders() -> None:
    start = chunk().start(16_000, timezone(timedelta(hours=-6)))
    assert start is not None
    assert start.astimezone(UTC).isoformat() == "2026-03-14T15:30:00.500000+00:00"


def test_files_without_a_whole_chunk_have_none(tmp_path: Path) -> None:
    assert read_bext(write(tmp_path / "plain.wav", tone(0.1))) is None
    assert read_bext(write(tmp_path / "other.flac", tone(0.1))) is None
    path = broadcast_wave(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(whole[: whole.find(b"bext") + 8 + 300])
    assert read_bext(path) is None
