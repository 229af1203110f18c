"""A live log loses no whole line, whatever byte it is cut at, and goes on from there."""

import errno
import json
import os
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log import live_log
from voxlog.log.chain import check_lines, split_lines
from voxlog.log.digest import bytes_sha256, file_sha256
from voxlog.log.folder import CHAINED, AudioFile, RunFacts, header_of
from voxlog.log.live_folder import finish_folder, put_in_place
from voxlog.log.live_log import (
    LiveLog,
    advice_record,
    clock_record,
    gap_record,
    note_record,
    parse_live,
    read_live,
    row_record,
    spoken_record,
)
from voxlog.log.record import rounded
from voxlog.log.table import format_table
from voxlog.log.verify import read_events, verify

ONE = rounded(Event(1.0, 2.0, "item", "ground", "1", "operator", "confirmed", heard="öffnen"))
BETTER = rounded(Event(1.0, 2.5, "item", "ground", "1", "operator", "negative", heard="not open"))
TALK = rounded(Event(5.0, 6.0, "note", heard="lunch"))
SKIPPED = rounded(Event(9.0, 9.0, "item", "ground", "2", "operator", "skipped"))

RECORDS: list[dict[str, Any]] = [
    clock_record(0, 5_000_000_001, 1_795_600_000_123_456_789),
    row_record(1, "added", ONE),
    row_record(2, "added", TALK),
    advice_record(30_000, "masks-off", ["2"], "open: item 2, dump valve"),
    spoken_record(31_000, 40_000, "open: item 2, dump valve"),
    row_record(1, "corrected", BETTER),
    gap_record(50_000, 1_600, "the device was away"),
    row_record(2, "withdrawn"),
    note_record("question", 60_000, "open items: none", asked=3),
    note_record("warning", 70_000, "channel 2 is silent"),
]


def facts(audio: tuple[AudioFile, ...] = (), drift_ppb: int = 0) -> RunFacts:
    return RunFacts(
        sheet_id="demo",
        sheet_title="Demonstration",
        sheet_yaml=b"voxlog-sheet: 1\n",
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=audio,
        versions={"voxlog": "0.1.0"},
        start=datetime(2026, 11, 25, 9, 30, tzinfo=UTC),
        start_source="clock",
        drift_ppb=drift_ppb,
    )


HEADER = header_of(facts())


@pytest.fixture
def path(tmp_path: Path) -> Path:
    folder = tmp_path / "run.partial"
    folder.mkdir()
    return folder / CHAINED


@pytest.fixture
def written(path: Path) -> Path:
    with LiveLog.create(path, HEADER) as log:
        for record in RECORDS:
            assert log.append(record)
    return path


def test_what_was_written_is_read_again(written: Path) -> None:
    run = read_live(written)
    assert run.header == {**HEADER, "state": "live"}
    assert list(run.records) == RECORDS
    assert (run.tail, run.is_closed, run.whole_bytes) == (b"", False, written.stat().st_size)
    assert run.rows() == {1: BETTER}
    assert run.first_rows() == {1: ONE, 2: TALK}
    assert run.next_number == 3


def test_a_line_is_on_the_disk_before_append_returns(path: Path) -> None:
    with LiveLog.create(path, HEADER) as log:
        for count, record in enumerate(RECORDS, 1):
            log.append(record)
            assert list(read_live(path).records) == RECORDS[:count]


def test_cut_at_every_byte_all_whole_lines_are_there(written: Path) -> None:
    data = written.read_bytes()
    lines = split_lines(data)
    for cut in range(len(data) + 1):
        run = parse_live(data[:cut])
        whole = data[:cut].count(b"\n")
        assert run.whole_bytes == sum(map(len, lines[:whole]))
        assert run.tail == data[run.whole_bytes : cut]
        assert (run.header is not None) == (whole > 0)
        assert list(run.records) == RECORDS[: max(whole - 1, 0)]


@given(st.data())
def test_a_changed_byte_ends_what_is_whole_before_its_line(data: st.DataObject) -> None:
    lines, link = [], live_log.START
    for payload in [{**HEADER, "state": "live"}, *RECORDS]:
        line, link = live_log.append(payload, link)
        lines.append(line)
    log = b"".join(lines)
    place = data.draw(st.integers(0, len(log) - 1))
    damaged = bytearray(log)
    damaged[place] ^= data.draw(st.integers(1, 255))
    run = parse_live(bytes(damaged))
    assert run.whole_bytes <= place
    assert run.whole_bytes == sum(map(len, lines[: log[:place].count(b"\n")]))
    assert run.tail == damaged[run.whole_bytes :]


@pytest.mark.parametrize("cut", [0, 1, 200, -1, -150, -700])
def test_taken_up_again_it_goes_on_and_keeps_what_was_torn(written: Path, cut: int) -> None:
    data = written.read_bytes()
    data = data[: cut % len(data)]
    written.write_bytes(data)
    before = parse_live(data)
    log, run = LiveLog.take_up(written, HEADER, sample=80_000)
    assert run == before
    assert log.append(note_record("warning", 90_000, "after"))
    log.close()
    after = read_live(written)
    assert after.header == {**HEADER, "state": "live"}
    assert after.tail == b""
    taken_up, warning = after.records[-2:]
    assert after.records[:-2] == before.records
    assert (taken_up["record"], taken_up["sample"], warning["text"]) == (
        "taken-up",
        80_000,
        "after",
    )
    if before.tail:
        aside = written.parent / str(taken_up["torn"])
        assert aside.read_bytes() == before.tail
        assert taken_up["torn_sha256"] == bytes_sha256(before.tail)
        assert taken_up["torn_bytes"] == len(before.tail)
    else:
        assert "torn" not in taken_up


def test_each_torn_tail_is_kept(written: Path) -> None:
    for number in (1, 2):
        with written.open("ab") as file:
            file.write(b'{"torn')
        log, _ = LiveLog.take_up(written, HEADER, 0)
        log.close()
        assert (written.parent / f"events.torn-{number}").read_bytes() == b'{"torn'


@pytest.mark.parametrize(
    "record",
    [{"p": float("nan")}, {"wall_ns": 2**60}, {"text": "\ud800"}, {"n": 3}, {"prev": ""}],
)
def test_a_record_that_the_chain_cannot_carry_harms_no_other(
    path: Path, record: dict[str, Any]
) -> None:
    with LiveLog.create(path, HEADER) as log:
        with pytest.raises(ValueError):
            log.append(RECORDS[0], record)
        assert log.append(RECORDS[1])
        assert read_live(path).records == (RECORDS[1],)


def test_a_full_disk_holds_lines_back_and_nothing_is_torn(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk takes a part of a line and then nothing, which is how a full one behaves."""
    write = os.write
    room = [10]

    def full(descriptor: int, data: bytes) -> int:
        if not room[0]:
            raise OSError(errno.ENOSPC, "No space left on device")
        taken, room[0] = room[0], 0
        return write(descriptor, bytes(data)[:taken])

    with LiveLog.create(path, HEADER) as log:
        log.append(RECORDS[0])
        with monkeypatch.context() as patch:
            patch.setattr(os, "write", full)
            assert not log.append(RECORDS[1])
            assert "No space left" in log.fault
            assert not log.append(RECORDS[2])
        assert read_live(path).records == (RECORDS[0],)
        assert log.append(RECORDS[3])
        assert log.fault == ""
    assert list(read_live(path).records) == RECORDS[:4]


@pytest.fixture
def finished(written: Path) -> Path:
    audio = written.parent / "audio" / "channel-1.flac"
    audio.parent.mkdir()
    audio.write_bytes(b"fLaC....")
    log, _ = LiveLog.take_up(written, HEADER, 0)
    run = written.parent.with_name("run")
    kept = AudioFile(run / "audio/channel-1.flac", file_sha256(audio), 16_000, 1, 480_000)
    finish_folder(run, log, facts((kept,), 50_000), [{"heard": "x"}], [(1, BETTER), (3, SKIPPED)])
    return run


def test_a_finished_run_is_a_run_folder(finished: Path) -> None:
    report = verify(finished)
    assert (report.problems, report.unchecked, report.event_count) == ((), (), 2)
    assert read_events(finished) == [BETTER, SKIPPED]
    assert not finished.with_name("run.partial").exists()


def test_what_was_said_while_it_went_stays_readable(finished: Path) -> None:
    run = read_live(finished / CHAINED)
    assert run.is_closed
    assert run.first_rows() == {1: ONE, 2: TALK}
    assert [record for record in run.records if record.get("record") == "advice"] == [RECORDS[3]]


def test_the_audio_clocks_drift_is_in_utc(finished: Path) -> None:
    """50 millionths of nine seconds are under a millisecond; of an hour they are 180 ms."""
    table = (finished / "events.csv").read_text()
    assert "2026-11-25T09:30:01.000Z" in table
    late = Event(3600.0, 3601.0, "note")
    assert "2026-11-25T10:30:00.180Z" in format_table([late], facts().start, 50_000)
    assert "2026-11-25T10:29:59.820Z" in format_table([late], facts().start, -50_000)


@pytest.mark.parametrize(
    ("name", "old", "new", "problem"),
    [
        (CHAINED, b"not open", b"now open", "changed"),
        (CHAINED, b"lunch", b"launch", "changed"),
        ("events.csv", b"not open", b"open", "events.csv line 2: changed"),
        ("run.json", b"tiny.en", b"base", "run.json: changed since"),
        ("audio/channel-1.flac", b"fLaC", b"fLAC", "not the recording that was logged"),
    ],
)
def test_a_finished_run_that_was_changed_is_found(
    finished: Path, name: str, old: bytes, new: bytes, problem: str
) -> None:
    data = (finished / name).read_bytes()
    assert old in data
    (finished / name).write_bytes(data.replace(old, new))
    assert any(problem in text for text in verify(finished).problems)


def test_a_finished_run_is_not_taken_up(finished: Path) -> None:
    with pytest.raises(InputError, match="was finished"):
        LiveLog.take_up(finished / CHAINED, HEADER, 0)


def test_a_final_pass_that_was_broken_off_is_done_again(written: Path) -> None:
    """Cut at each line of the final pass, the run is finished anew and is whole."""
    log, _ = LiveLog.take_up(written, HEADER, 0)
    start = written.stat().st_size
    log.finish([(1, ONE), (2, TALK)], {}, [], {})
    log.close()
    data = written.read_bytes()
    for place, byte in enumerate(data):
        if place < start or byte != ord("\n") or place + 1 == len(data):
            continue
        folder = written.parent.with_name(f"cut-{place}.partial")
        folder.mkdir()
        (folder / CHAINED).write_bytes(data[: place + 1])
        again, _ = LiveLog.take_up(folder / CHAINED, HEADER, 0)
        run = folder.with_name(f"cut-{place}")
        finish_folder(run, again, facts(), [], [(1, BETTER), (3, SKIPPED)])
        assert verify(run).problems == ()
        assert read_events(run) == [BETTER, SKIPPED]


def test_a_disk_that_is_full_at_the_end_leaves_the_run_to_be_finished_later(
    written: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log, _ = LiveLog.take_up(written, HEADER, 0)
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", _no_space)
        with pytest.raises(InputError, match=r"No space left.*resume the run|disk full"):
            log.finish([(1, BETTER)], {}, [], {})
    log.append(note_record("warning", 0, "still going"))
    log.close()
    run = read_live(written)
    assert not run.is_closed
    assert run.records[-1]["text"] == "still going"
    assert check_lines(split_lines(written.read_bytes())).fault == "not closed"  # type: ignore[union-attr]


def _no_space(_: int) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_place_that_is_taken_is_not_overwritten(finished: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    with pytest.raises(InputError, match="cannot be written"):
        put_in_place(other, finished)
    assert verify(finished).is_whole


CHILD = """
import sys
from pathlib import Path
from voxlog.log.live_log import LiveLog, note_record
log = LiveLog.create(Path(sys.argv[1]), {"format": "voxlog-log", "version": 2})
for number in range(1_000_000):
    log.append(note_record("warning", number, "x" * (number % 300)))
    print(number, flush=True)
"""


@pytest.mark.parametrize("seconds", [0.05, 0.21, 0.33])
def test_killed_at_any_moment_every_line_that_was_reported_is_there(
    path: Path, seconds: float
) -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(path)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    child.stdout.readline()
    time.sleep(seconds)
    child.send_signal(signal.SIGKILL)
    reported = child.stdout.read().split()
    child.stdout.close()
    child.wait()
    run = read_live(path)
    assert len(run.records) >= int(reported[-1]) + 1
    assert [record["sample"] for record in run.records] == list(range(len(run.records)))


def test_a_line_is_plain_json(written: Path) -> None:
    first = json.loads(written.read_bytes().splitlines()[1])
    assert first["monotonic_us"] == 5_000_000
    assert first["wall_us"] == 1_795_600_000_123_456


def test_a_log_that_another_program_writes_is_not_taken_up(path: Path) -> None:
    """The claim is the file's, so it holds within a program too; it ends with the writer."""
    pytest.importorskip("fcntl")
    log = LiveLog.create(path, HEADER)
    before = path.read_bytes()
    with pytest.raises(InputError, match="another program records this run"):
        LiveLog.take_up(path, HEADER, 0)
    assert path.read_bytes() == before
    log.close()
    again, run = LiveLog.take_up(path, None, 0)
    again.close()
    assert run.header is not None
