"""An archive from its plan to its table; who does the jobs does not matter here."""

import fcntl
import sys
from pathlib import Path

import duckdb
import pytest

from tests.archive.conftest import Archive, FolderMaker
from tests.export.conftest import EVENTS, SHEET
from voxlog.archive.table import open_table
from voxlog.audit.question import Question
from voxlog.audit.read import read_rows
from voxlog.errors import InputError


def run_names(out: Path) -> list[str]:
    """Without the keys."""
    return sorted(path.name.rpartition("-")[0] for path in (out / "runs").iterdir())


def table(out: Path, what: str = "run, n, item, status") -> list[tuple[object, ...]]:
    files = f"read_parquet('{out}/events/*/*.parquet', hive_partitioning=true)"
    return duckdb.sql(f"select {what} from {files} order by run, t_ms, n").fetchall()


def test_every_recording_has_a_folder_and_its_rows(
    archive: Archive, maker: FolderMaker, tmp_path: Path
) -> None:
    result = archive()
    assert (result.logged, result.there, result.same, result.runs) == (3, 0, 1, 3)
    assert result.failed == ()
    assert run_names(tmp_path / "out") == ["one", "three-last", "two"]
    assert len(table(tmp_path / "out")) == 3 * len(EVENTS)
    assert open_table(result.table).count_rows() == 3 * len(EVENTS)
    assert set(table(tmp_path / "out", "month")) == {("unknown",)}
    for job in maker.jobs:
        assert job.place.parent == (tmp_path / "out/runs")
        assert job.sheet.read_text(encoding="utf-8") == SHEET


def test_given_again_nothing_is_logged_twice(
    archive: Archive, maker: FolderMaker, tmp_path: Path
) -> None:
    archive()
    first = table(tmp_path / "out")
    stamps = {path: path.stat().st_mtime_ns for path in (tmp_path / "out/runs").rglob("*")}
    result = archive()
    assert (result.logged, result.there, result.same, result.runs) == (0, 3, 1, 3)
    assert len(maker.given) == 3
    assert table(tmp_path / "out") == first
    assert {path: path.stat().st_mtime_ns for path in stamps} == stamps


def test_a_file_that_was_moved_is_not_logged_again(
    archive: Archive, maker: FolderMaker, tree: Path
) -> None:
    archive()
    (tree / "2026/one.wav").rename(tree / "elsewhere.wav")
    result = archive()
    assert (result.logged, result.there, len(maker.given)) == (0, 3, 3)


def test_a_lost_job_table_costs_no_run(
    archive: Archive, maker: FolderMaker, tmp_path: Path
) -> None:
    archive()
    (tmp_path / "out/jobs.sqlite").unlink()
    assert archive().there == 3
    assert len(maker.given) == 3


@pytest.mark.parametrize("change", ["sheet", "positions", "start", "audio"])
def test_what_a_log_is_made_from_makes_another_one(
    archive: Archive, maker: FolderMaker, sheet: Path, tree: Path, change: str
) -> None:
    archive()
    before = set(maker.given)
    changes: dict[str, object] = {}
    if change == "sheet":
        sheet.write_text(SHEET.replace("Two checks", "Three checks"), encoding="utf-8")
    elif change == "positions":
        changes["positions"] = {0: "conductor"}
    elif change == "audio":
        (tree / "2026/one.wav").write_bytes(b"another take")
    else:
        index = sheet.with_name("runs.csv")
        index.write_text("audio,start\n2026/one.wav,2026-11-25T09:30:00Z\n", encoding="utf-8")
        changes["index"] = index
    result = archive(**changes)
    new = set(maker.given) - before
    assert len(new) == {"sheet": 3, "positions": 3, "start": 1, "audio": 1}[change]
    assert result.runs == 3 + len(new)


def test_an_interrupted_archive_goes_on_where_it_was(
    archive: Archive, maker: FolderMaker, tmp_path: Path
) -> None:
    maker.stop_after = 1
    with pytest.raises(KeyboardInterrupt):
        archive()
    left = tmp_path / "out/scratch/half-done"
    left.mkdir(parents=True)
    maker.stop_after = None
    result = archive()
    assert (result.logged, result.there, result.runs) == (2, 1, 3)
    assert len(maker.given) == len(set(maker.given)) == 3
    assert not left.parent.exists()


def test_a_bad_recording_stops_nothing_and_is_tried_again(
    archive: Archive, maker: FolderMaker, tmp_path: Path
) -> None:
    maker.bad = ("two.FLAC",)
    result = archive()
    assert (result.logged, result.runs) == (2, 2)
    assert [line.rpartition("/")[2] for line in result.failed] == ["two.FLAC: no audio in it"]
    maker.bad = ()
    result = archive()
    assert (result.logged, result.there, result.runs, result.failed) == (1, 2, 3, ())


def test_files_of_the_index_that_are_not_there_are_told(
    archive: Archive, maker: FolderMaker, tmp_path: Path
) -> None:
    index = tmp_path / "runs.csv"
    index.write_text("audio\nnowhere.wav\n2026/one.wav\n", encoding="utf-8")
    result = archive(index=index)
    assert (result.logged, result.same, len(maker.given)) == (1, 0, 1)
    assert "nowhere.wav: No such file" in result.failed[0]


def test_codes_and_months_come_from_the_index(archive: Archive, tmp_path: Path) -> None:
    index = tmp_path / "runs.csv"
    rows = "2026/one.wav,2026-11-25T09:30:00Z,S-07,attendant=C-03\n2026/two.FLAC,,,\n"
    index.write_text(f"audio,start,subjects,crew\n{rows}", encoding="utf-8")
    archive(index=index)
    found = table(tmp_path / "out", "month, subjects, position, crew")
    assert found[0] == ("2026-11", "S-07", "attendant", "C-03")
    assert found[1] == ("2026-11", "S-07", "operator", "")
    assert found[4] == ("unknown", "", "attendant", "")
    # A code that was wrong is mended without logging again.
    index.write_text(f"audio,start,subjects,crew\n{rows.replace('C-03', 'C-04')}")
    assert archive(index=index).logged == 0
    assert table(tmp_path / "out", "crew")[0] == ("C-04",)


def test_a_run_folder_that_was_changed_is_left_out_and_told(
    archive: Archive, tmp_path: Path
) -> None:
    archive()
    log = next((tmp_path / "out/runs").glob("two-*/events.jsonl"))
    log.write_bytes(log.read_bytes().replace(b"loud", b"LOUD"))
    result = archive()
    assert (result.there, result.runs) == (3, 2)
    assert "events.jsonl line 2: changed" in result.failed[0]
    assert len(table(tmp_path / "out")) == 2 * len(EVENTS)


def test_an_audit_finds_in_the_table_what_is_in_the_folders(
    archive: Archive, tmp_path: Path
) -> None:
    archive()
    question = Question(unreviewed=True)
    of_table = read_rows([tmp_path / "out"], question)
    of_folders = read_rows([tmp_path / "out/runs"], question)
    assert (of_table.runs, of_folders.runs) == (3, 3)
    assert of_table.rows.astype(object).equals(of_folders.rows.astype(object))


def test_without_pyarrow_nothing_is_begun(
    archive: Archive, maker: FolderMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(InputError, match="needs pyarrow"):
        archive()
    assert maker.given == []


def test_two_archives_at_once_are_refused(archive: Archive, tmp_path: Path) -> None:
    archive()
    with (tmp_path / "out/.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        with pytest.raises(InputError, match="another voxlog archive is at work"):
            archive()
    assert archive().there == 3


@pytest.mark.parametrize(("name", "text"), [("sheet", "voxlog-sheet: 1\n"), ("tree", None)])
def test_what_makes_everything_impossible_is_said_at_once(
    archive: Archive, maker: FolderMaker, tmp_path: Path, name: str, text: str | None
) -> None:
    other = tmp_path / f"other-{name}"
    if text:
        other.write_text(text)
    with pytest.raises(InputError):
        archive(**{name: other})
    assert maker.given == []
