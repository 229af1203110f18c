"""A run folder is whole or not there: whatever stops the writing, nothing looks finished."""

import errno
import json
import os
import resource
import subprocess
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.digest import file_sha256
from voxlog.log.folder import AudioFile, RunFacts, RunFolder
from voxlog.log.verify import verify

SHEET = b"voxlog-sheet: 1\nid: demo\n"
EVENTS = [
    Event(1.0, 2.0, "item", item="1", status="confirmed", heard="loud and clear", p=0.98),
    Event(3.0, 4.5, "reading", item="saturation", value=91.0, unit="%", p=0.9),
]
UTTERANCES = [{"start": 16000, "heard": "loud and clear", "score": -0.25}, {"start": 48000}]


@pytest.fixture
def facts(tmp_path: Path) -> RunFacts:
    audio = tmp_path / "run.wav"
    audio.write_bytes(b"RIFF....")
    return RunFacts(
        sheet_id="demo",
        sheet_title="Demonstration",
        sheet_yaml=SHEET,
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=(AudioFile(audio, file_sha256(audio), 48_000, 1, 480_000),),
        versions={"voxlog": "0.1.0", "python": "3.11.7"},
        start=datetime(2026, 11, 25, 9, 30, tzinfo=UTC),
        start_source="bext",
        settings={"threads": 2},
        warnings=("run.wav: clipped for 3 s",),
    )


def save(path: Path, facts: RunFacts, events: list[Event] = EVENTS) -> None:
    with RunFolder.create(path) as folder:
        folder.save(facts, UTTERANCES, events)


def test_the_folder_holds_what_it_promises(tmp_path: Path, facts: RunFacts) -> None:
    out = tmp_path / "runs" / "one"
    save(out, facts)
    assert sorted(path.name for path in out.iterdir()) == [
        "events.csv",
        "events.jsonl",
        "run.json",
        "sheet.yaml",
        "utterances.jsonl",
    ]
    assert (out / "sheet.yaml").read_bytes() == SHEET
    assert [
        json.loads(x) for x in (out / "utterances.jsonl").read_text().splitlines()
    ] == UTTERANCES
    run = json.loads((out / "run.json").read_text())
    assert run["audio"][0]["path"] == "../../run.wav"
    assert run["clock"] == {
        "hz": 16000,
        "start": "2026-11-25T09:30:00+00:00",
        "start_source": "bext",
    }
    assert run["warnings"] == ["run.wav: clipped for 3 s"]
    header, *_, closing = [
        json.loads(line) for line in (out / "events.jsonl").read_text().splitlines()
    ]
    assert header["format"] == "voxlog-log"
    assert header["sheet"] == run["sheet"]["sha256"] == file_sha256(out / "sheet.yaml")
    assert header["model"] == run["model"]["sha256"] == "1a" * 32
    assert header["audio"] == [facts.audio[0].sha256]
    assert closing["count"] == 2
    assert closing["files"]["events.csv"] == file_sha256(out / "events.csv")
    assert list(tmp_path.rglob("*.partial")) == []


def test_the_same_run_gives_the_same_bytes(tmp_path: Path, facts: RunFacts) -> None:
    for name in ("one", "two"):
        save(tmp_path / name, facts)
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes()


def test_an_empty_folder_is_filled(tmp_path: Path, facts: RunFacts) -> None:
    (tmp_path / "out").mkdir()
    save(tmp_path / "out", facts)
    assert verify(tmp_path / "out").is_whole


def test_a_log_without_events_is_whole(tmp_path: Path, facts: RunFacts) -> None:
    save(tmp_path / "out", facts, [])
    assert verify(tmp_path / "out").is_whole


def taken_by_files(path: Path) -> None:
    path.mkdir()
    (path / "notes.txt").write_text("mine")


def taken_by_a_link(path: Path) -> None:
    (path.parent / "elsewhere").mkdir()
    path.symlink_to(path.parent / "elsewhere")


def taken_by_another_run(path: Path) -> None:
    path.with_name("out.partial").mkdir()


@pytest.mark.parametrize(
    ("take", "words"),
    [
        (taken_by_files, "the folder is not empty; name another"),
        (taken_by_a_link, "a file or a link stands there"),
        (Path.touch, "a file or a link stands there"),
        (
            taken_by_another_run,
            "out.partial: another run is being written here, or one was stopped",
        ),
    ],
)
def test_a_taken_place_is_refused_and_left_alone(
    tmp_path: Path, take: Callable[[Path], None], words: str
) -> None:
    out = tmp_path / "out"
    take(out)
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(InputError, match=r"; ") as caught:
        RunFolder.create(out)
    assert words in str(caught.value)
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("place", ["/", "/proc/voxlog", "file/out"])
def test_a_place_that_cannot_be_written_is_refused(tmp_path: Path, place: str) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match=r"; "):
        RunFolder.create(tmp_path / place)


def test_a_place_taken_meanwhile_is_left_alone(tmp_path: Path, facts: RunFacts) -> None:
    out = tmp_path / "out"
    with RunFolder.create(out) as folder:
        taken_by_files(out)
        with pytest.raises(InputError, match="Directory not empty"):
            folder.save(facts, UTTERANCES, EVENTS)
    assert [path.name for path in out.iterdir()] == ["notes.txt"]


@pytest.mark.parametrize("stop", [KeyboardInterrupt, RuntimeError, InputError])
def test_a_stop_during_the_work_leaves_nothing(tmp_path: Path, stop: type[BaseException]) -> None:
    with pytest.raises(stop), RunFolder.create(tmp_path / "out"):
        raise stop
    assert list(tmp_path.iterdir()) == []


def test_everything_is_on_the_disk_before_the_folder_appears(
    tmp_path: Path, facts: RunFacts, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A power cut can then only leave the .partial folder, or the whole one."""
    steps: list[str] = []
    sync, rename = os.fsync, os.rename

    def note_sync(descriptor: int) -> None:
        steps.append(Path(os.readlink(f"/proc/self/fd/{descriptor}")).name)
        sync(descriptor)

    def note_rename(source: Path, target: Path) -> None:
        assert not (tmp_path / "out").exists()
        assert verify(source).is_whole
        steps.append("rename")
        rename(source, target)

    monkeypatch.setattr(os, "fsync", note_sync)
    monkeypatch.setattr(os, "rename", note_rename)
    save(tmp_path / "out", facts)
    files = ["sheet.yaml", "run.json", "utterances.jsonl", "events.csv", "events.jsonl"]
    assert steps == [*files, "out.partial", "rename", tmp_path.name]


def test_a_folder_in_its_place_is_not_called_unwritten(
    tmp_path: Path, facts: RunFacts, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only the flush of the folder above it fails."""
    calls = iter([False] * 6 + [True])

    def fail(descriptor: int) -> None:
        if next(calls):
            raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "fsync", fail)
    save(tmp_path / "out", facts)
    assert verify(tmp_path / "out").is_whole


def assert_nothing_whole(out: Path) -> None:
    assert not out.exists()
    assert not out.with_name("out.partial").exists()


@pytest.mark.parametrize("call", range(6))
@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "disk full, nothing was written; free some space"),
        (errno.EDQUOT, "disk full"),
        (errno.EIO, "cannot be written (Input/output error); name another folder"),
    ],
)
def test_a_disk_that_fails_at_any_flush(
    tmp_path: Path,
    facts: RunFacts,
    monkeypatch: pytest.MonkeyPatch,
    call: int,
    number: int,
    words: str,
) -> None:
    """Some file systems say only at the flush that they are full."""
    calls = iter(range(100))

    def fail(descriptor: int) -> None:
        if next(calls) == call:
            raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(InputError) as caught:
        save(tmp_path / "out", facts)
    assert words in str(caught.value)
    assert_nothing_whole(tmp_path / "out")


@pytest.fixture
def tiny_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 64 KiB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    if os.geteuid() != 0 or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("a file system of its own can only be mounted by root")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.parametrize("filled", [0, 40, 60])
def test_a_full_disk(tiny_disk: Path, facts: RunFacts, filled: int) -> None:
    (tiny_disk / "ballast").write_bytes(bytes(filled * 1024))
    with pytest.raises(InputError, match="disk full"):
        save(tiny_disk / "out", facts, EVENTS * 500)
    assert_nothing_whole(tiny_disk / "out")


def test_the_tiny_disk_is_big_enough_for_a_short_log(tiny_disk: Path, facts: RunFacts) -> None:
    save(tiny_disk / "out", facts)
    assert verify(tiny_disk / "out").is_whole


@pytest.mark.parametrize("limit", [10, 100, 200, 1000])
def test_a_limit_on_file_size(tmp_path: Path, facts: RunFacts, limit: int) -> None:
    """The same without root: the system stops one file after another at the limit."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, before[1]))
    try:
        with pytest.raises(InputError, match="disk full"):
            save(tmp_path / "out", facts)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert_nothing_whole(tmp_path / "out")
