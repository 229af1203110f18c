"""verify names the first bad line or file of a run folder."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.chain import START, append, open_line, split_lines
from voxlog.log.digest import file_sha256
from voxlog.log.folder import AudioFile, RunFacts, RunFolder
from voxlog.log.record import rounded
from voxlog.log.verify import read_events, verify

EVENTS = [
    Event(1.23456, 2.0, "item", item="1", status="confirmed", heard="loud\nand clear", p=0.98765),
    Event(3.0, 4.5, "item", item="2", status="negative", flags=("late",), heard="-1, not set"),
    Event(5.0, 6.0, "reading", item="saturation", value=64.0, unit="%", flags=("off-limit",)),
]


@pytest.fixture
def run(tmp_path: Path) -> Path:
    audio = tmp_path / "run.wav"
    audio.write_bytes(b"RIFF....")
    facts = RunFacts(
        sheet_id="demo",
        sheet_title="Demonstration",
        sheet_yaml=b"voxlog-sheet: 1\n",
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=(AudioFile(audio, file_sha256(audio), 48_000, 1, 480_000),),
        versions={"voxlog": "0.1.0"},
        start=datetime(2026, 11, 25, 9, 30, 0, 1234, tzinfo=timezone(timedelta(hours=2))),
        start_source="option",
    )
    with RunFolder.create(tmp_path / "out") as folder:
        folder.save(facts, [{"heard": "loud and clear"}], EVENTS)
    return tmp_path / "out"


def test_a_folder_as_written_is_whole(run: Path) -> None:
    report = verify(run)
    assert report.problems == ()
    assert report.unchecked == ()
    assert report.event_count == 3
    assert report.seal == json.loads((run / "events.jsonl").read_text().splitlines()[-1])["digest"]
    assert read_events(run) == [rounded(event) for event in EVENTS]


def replace(name: str, old: bytes, new: bytes) -> Callable[[Path], None]:
    def damage(run: Path) -> None:
        data = (run / name).read_bytes()
        assert old in data
        (run / name).write_bytes(data.replace(old, new, 1))

    damage.__name__ = f"{name}: {old!r} to {new!r}"
    return damage


def remove(name: str) -> Callable[[Path], None]:
    return lambda run: (run / name).unlink()


def cut_log(run: Path) -> None:
    (run / "events.jsonl").write_bytes((run / "events.jsonl").read_bytes()[:-3])


def drop_row(run: Path) -> None:
    lines = (run / "events.csv").read_bytes().splitlines(keepends=True)
    (run / "events.csv").write_bytes(b"".join(lines[:-1]))


def add_row(run: Path) -> None:
    with (run / "events.csv").open("ab") as file:
        file.write(b"4,7.000\n")


@pytest.mark.parametrize(
    ("damage", "problem"),
    [
        (replace("events.jsonl", b"loud", b"Loud"), "events.jsonl line 2: changed: "),
        (replace("events.jsonl", b"negative", b"confirmed"), "events.jsonl line 3: changed: "),
        (cut_log, "events.jsonl line 5: torn: "),
        (lambda run: (run / "events.jsonl").write_bytes(b""), "events.jsonl line 1: not closed: "),
        (replace("events.csv", b"negative", b"confirmed"), "events.csv line 3: changed: "),
        (replace("events.csv", b"1.235", b"1.236"), "events.csv line 2: changed: "),
        (replace("events.csv", b"n,t", b"N,t"), "events.csv line 1: changed: "),
        (replace("events.csv", b"\n", b"\r\n"), "events.csv line 1: changed: "),
        (drop_row, "events.csv line 4: missing: "),
        (add_row, "events.csv line 5: not in the log: "),
        (remove("events.csv"), "events.csv: missing"),
        (replace("sheet.yaml", b"1", b"2"), "sheet.yaml: changed since the log was closed"),
        (remove("sheet.yaml"), "sheet.yaml: missing"),
        (replace("run.json", b"tiny.en", b"base"), "run.json: changed since the log was closed"),
        (remove("run.json"), "run.json: missing"),
        (replace("utterances.jsonl", b"clear", b"Clear"), "utterances.jsonl: changed since"),
        (remove("utterances.jsonl"), "utterances.jsonl: missing"),
        (replace("../run.wav", b"RIFF", b"RIFX"), "../run.wav: not the recording that was logged"),
    ],
)
def test_the_first_damage_is_named(run: Path, damage: Callable[[Path], None], problem: str) -> None:
    damage(run)
    report = verify(run)
    assert not report.is_whole
    assert report.problems[0].startswith(problem)


def test_every_damaged_file_is_named(run: Path) -> None:
    for name in ("sheet.yaml", "run.json", "utterances.jsonl", "events.csv"):
        (run / name).unlink()
    named = {problem.split(":")[0] for problem in verify(run).problems}
    assert named == {"sheet.yaml", "run.json", "utterances.jsonl", "events.csv"}


def test_audio_that_is_not_here_is_said_to_be_unchecked(run: Path) -> None:
    (run.parent / "run.wav").unlink()
    report = verify(run)
    assert report.is_whole
    assert report.unchecked == ("../run.wav",)


def change_header(records: list[dict[str, Any]]) -> None:
    records[0]["model"] = "2b" * 32


def lose_the_clock(records: list[dict[str, Any]]) -> None:
    del records[0]["clock"]


def lose_the_zone(records: list[dict[str, Any]]) -> None:
    records[0]["clock"]["start"] = "2026-11-25T09:30:00"


def lose_the_files(records: list[dict[str, Any]]) -> None:
    records[-1]["files"] = {}


def contradict(records: list[dict[str, Any]]) -> None:
    records[2]["t_ms"] += 1


def change_an_event(records: list[dict[str, Any]]) -> None:
    records[2]["status"] = "confirmed"


def change_the_sheet(records: list[dict[str, Any]]) -> None:
    records[0]["sheet"] = "3c" * 32


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (change_header, "run.json: its model is not the one in the header of events.jsonl"),
        (change_the_sheet, "run.json: its sheet is not the one in the header"),
        (lose_the_clock, "events.jsonl line 1: changed: the header or the closing record lacks"),
        (lose_the_zone, "events.jsonl line 1: changed: the header or the closing record lacks"),
        (lose_the_files, "events.jsonl line 1: changed: the header or the closing record lacks"),
        (contradict, "events.jsonl line 3: changed: the record contradicts itself"),
        (change_an_event, "events.csv line 3: changed: the log says otherwise"),
    ],
)
def test_a_chain_sealed_anew_still_has_to_fit_the_other_files(
    run: Path, change: Callable[[list[dict[str, Any]]], None], problem: str
) -> None:
    seal_anew(run, change)
    assert verify(run).problems[0].startswith(problem)


def seal_anew(run: Path, change: Callable[[list[dict[str, Any]]], None]) -> None:
    opened = map(open_line, split_lines((run / "events.jsonl").read_bytes()))
    records = [record for record in opened if record is not None]
    change(records)
    lines, link = [], START
    for record in records:
        payload = {name: record[name] for name in record if name not in ("n", "prev", "digest")}
        line, link = append(payload, link)
        lines.append(line)
    (run / "events.jsonl").write_bytes(b"".join(lines))


def test_another_sheet_is_not_the_one_in_the_header(run: Path) -> None:
    """Only the closing record was made anew."""
    (run / "sheet.yaml").write_text("voxlog-sheet: 1\nid: another\n")

    def vouch(records: list[dict[str, Any]]) -> None:
        records[-1]["files"]["sheet.yaml"] = file_sha256(run / "sheet.yaml")

    seal_anew(run, vouch)
    problem = "sheet.yaml: not the sheet in the header of events.jsonl"
    assert verify(run).problems == (problem,)


@pytest.mark.parametrize("text", ["[]", "{}", "not JSON", '{"audio": [{}]}'])
def test_a_foreign_run_json_is_no_crash(run: Path, text: str) -> None:
    (run / "run.json").write_text(text)

    def vouch(records: list[dict[str, Any]]) -> None:
        records[-1]["files"]["run.json"] = file_sha256(run / "run.json")

    seal_anew(run, vouch)
    assert verify(run).problems == ("run.json: not as voxlog writes it",)


@pytest.mark.parametrize("name", ["", "run.json", "nowhere"])
def test_what_is_no_run_folder_is_refused(run: Path, name: str) -> None:
    folder = run.parent / name if name != "run.json" else run / name
    for read in (verify, read_events):
        with pytest.raises(InputError, match="not a run folder"):
            read(folder)


def test_events_of_a_broken_log_are_not_read(run: Path) -> None:
    cut_log(run)
    with pytest.raises(InputError, match=r"events.jsonl line 5: torn"):
        read_events(run)


def test_a_folder_of_the_first_version_is_still_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voxlog.log.folder.FORMAT_VERSION", 1)
    facts = RunFacts(
        sheet_id="demo",
        sheet_title="Demonstration",
        sheet_yaml=b"voxlog-sheet: 1\n",
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=(),
        versions={"voxlog": "0.1.0"},
    )
    with RunFolder.create(tmp_path / "old") as folder:
        folder.save(facts, [], EVENTS)
    assert open_line(split_lines((tmp_path / "old/events.jsonl").read_bytes())[0])["version"] == 1  # type: ignore[index]
    assert verify(tmp_path / "old").is_whole
    assert read_events(tmp_path / "old") == [rounded(event) for event in EVENTS]
