"""EDF+ read back by pyEDFlib (the C library of EDFbrowser) and by MNE."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pyedflib
import pytest

from tests.export.rows import START, hard_run, long_run, random_run, run_of, to_ms
from voxlog.errors import InputError
from voxlog.export.edf import RECORD_BYTES, TEXT_BYTES, to_edf
from voxlog.export.run import ExportRun, Row
from voxlog.export.text import label
from voxlog.follow.event import Event


def by_pyedflib(run: ExportRun, folder: Path) -> tuple[datetime, list[tuple[int, int, str]]]:
    """Start of the header, then onset, duration (-1 without one) and text."""
    path = folder / "run.edf"
    path.write_bytes(to_edf(run).data)
    with pyedflib.EdfReader(str(path)) as reader:
        onsets, durations, texts = reader.readAnnotations()
        start = reader.getStartdatetime()
    lengths = [-1 if length < 0 else to_ms(length) for length in durations]
    return start, list(zip(map(to_ms, onsets), lengths, texts, strict=True))


def by_mne(run: ExportRun, folder: Path) -> list[tuple[int, int, str]]:
    import mne

    path = folder / "run.edf"
    path.write_bytes(to_edf(run).data)
    found = mne.read_annotations(str(path))
    return [
        (to_ms(each["onset"]), to_ms(each["duration"]), str(each["description"])) for each in found
    ]


def expected(run: ExportRun, no_length: int) -> list[tuple[int, int, str]]:
    """Onsets count from the header's whole second, half a second before time 0."""
    return [
        (row.start_ms + 500, (row.end_ms - row.start_ms) or no_length, label(row))
        for row in run.rows
    ]


def test_edflib_reads_every_row(tmp_path: Path) -> None:
    start, found = by_pyedflib(hard_run(), tmp_path)
    assert start == START.replace(tzinfo=None, microsecond=0)
    assert found == expected(hard_run(), -1)


def test_mne_reads_every_row(tmp_path: Path) -> None:
    assert by_mne(hard_run(), tmp_path) == expected(hard_run(), 0)


def test_any_text_comes_back(tmp_path: Path) -> None:
    run = random_run()
    assert by_pyedflib(run, tmp_path)[1] == expected(run, -1)
    assert by_mne(run, tmp_path) == expected(run, 0)


def test_rows_before_the_recorder_began_have_negative_onsets(tmp_path: Path) -> None:
    run = run_of([Row(1, -90_500, -90_000, Event(0, 0, "hold"))])
    assert by_pyedflib(run, tmp_path)[1] == [(-90_000, 500, "#1 hold")]


@pytest.mark.slow
def test_a_long_log_is_exact(tmp_path: Path) -> None:
    """Readers give rows of one moment in different orders."""
    run = long_run()
    assert sorted(by_pyedflib(run, tmp_path)[1]) == sorted(expected(run, -1))
    assert sorted(by_mne(run, tmp_path)) == sorted(expected(run, 0))


@pytest.mark.parametrize(
    ("start", "header", "recording"),
    [
        (
            START,
            b"25.11.2610.30.00",
            b"Startdate 25-NOV-2026 X X voxlog_0.1.0 not_reviewed UTC+01",
        ),
        (START.astimezone(UTC), b"25.11.2609.30.00", b"UTC+00:00"),
        (None, b"01.01.8500.00.00", b"Startdate X X X voxlog_0.1.0 not_reviewed no_start_known"),
        # The header's two digits of a year reach from 1985 to 2084.
        (START.replace(year=1984), b"01.01.8500.00.00", b"no_start_known"),
    ],
)
def test_the_header(start: datetime | None, header: bytes, recording: bytes) -> None:
    data = to_edf(hard_run(start)).data
    assert data[168:184] == header
    assert recording in data[88:168]
    assert data[8:88].rstrip() == b"X X X X"  # nobody's name


def test_the_bytes_are_those_of_the_standard() -> None:
    """edfplus.info, 2.2.2: +onset 0x15 duration 0x14 text 0x14 0x00; the first one keeps time."""
    rows = [Row(1, 750, 2000, Event(0, 0, "hold")), Row(2, 2250, 2250, Event(0, 0, "resume"))]
    data = to_edf(run_of(rows, datetime(2026, 11, 25, tzinfo=UTC))).data
    assert data[192:197] == b"EDF+C"
    assert data[512:].rstrip(b"\0") + b"\0" == (
        b"+0\x14\x14\0+0.75\x151.25\x14#1 hold\x14\0+2.25\x14#2 resume\x14\0"
    )


def test_a_long_text_is_cut_and_told(tmp_path: Path) -> None:
    rows = [
        Row(1, 0, 1, Event(0, 0, "note", heard="\u00e9" * 400)),
        Row(2, 5, 6, Event(0, 0, "hold")),
    ]
    run = run_of(rows)
    texts = [text for *_, text in by_pyedflib(run, tmp_path)[1]]
    assert texts[0].endswith("\u00e9...") and texts[1] == "#2 hold"
    assert TEXT_BYTES - 2 < len(texts[0].encode()) <= TEXT_BYTES
    assert to_edf(run).notes == ("EDF+ annotations are cut at 500 bytes: 1 rows are not whole",)


def test_more_than_readers_take_is_refused() -> None:
    heard = "word " * 95
    rows = [Row(n, n, n, Event(0, 0, "note", heard=heard)) for n in range(RECORD_BYTES // 450)]
    with pytest.raises(InputError, match="more than EDF\\+ readers take"):
        to_edf(run_of(rows))


def test_dates_of_the_first_and_last_year_are_kept(tmp_path: Path) -> None:
    for day in (date(1985, 1, 2), date(2084, 12, 31)):
        start = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(hours=1)
        found, _ = by_pyedflib(run_of([Row(1, 0, 0, Event(0, 0, "hold"))], start), tmp_path)
        assert found == start.replace(tzinfo=None)
