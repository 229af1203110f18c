"""One job on a worker: it never raises, and its folder is there once."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.export.conftest import SHEET, make_run
from voxlog.archive import job as jobs
from voxlog.archive.job import Job, has_begun, log_one
from voxlog.errors import InputError
from voxlog.log.verify import verify
from voxlog.pipeline import LogRequest


@pytest.fixture
def job(tmp_path: Path, own_cache: Path) -> Job:
    sheet = tmp_path / "tiny.yaml"
    sheet.write_text(SHEET, encoding="utf-8")
    audio = tmp_path / "run.wav"
    audio.write_bytes(b"RIFF but no audio")
    runs, scratch = tmp_path / "runs", tmp_path / "scratch"
    return Job("k1", (audio,), sheet, runs / "run-k1", scratch, "tiny.en", own_cache)


@pytest.fixture
def makes_folders(monkeypatch: pytest.MonkeyPatch) -> list[LogRequest]:
    """In place of listening: a run folder. The requests are listed."""
    asked: list[LogRequest] = []

    def log(request: LogRequest, *_: object) -> None:
        asked.append(request)
        make_run(request.out, request.start)

    monkeypatch.setattr(jobs, "log_recording", log)
    monkeypatch.setattr(jobs, "_model", lambda *_: None)
    return asked


def test_a_folder_in_its_place_and_nothing_left(job: Job, makes_folders: list[LogRequest]) -> None:
    done = log_one(replace(job, positions={0: "conductor"}))
    assert done == ("k1", "")
    assert verify(job.place).is_whole
    assert list(job.scratch.iterdir()) == []
    assert makes_folders[0].positions == {0: "conductor"}
    assert makes_folders[0].out.name == job.place.name


def test_the_quicker_of_two_workers_counts(job: Job, makes_folders: list[LogRequest]) -> None:
    make_run(job.place, None)
    seal = (job.place / "events.jsonl").stat().st_ino
    assert log_one(job) == ("k1", "")
    assert (job.place / "events.jsonl").stat().st_ino == seal
    assert list(job.scratch.iterdir()) == []
    assert [path.name for path in job.place.parent.iterdir()] == ["run-k1"]


def test_a_bad_file_is_a_line(job: Job) -> None:
    done = log_one(job)
    assert done.key == "k1"
    assert done.error.startswith(f"{job.audio[0]}: not audio that can be read")
    assert not job.place.exists()
    assert list(job.scratch.iterdir()) == []


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (
            InputError("run.wav: no audio in it; record again"),
            "run.wav: no audio in it; record again",
        ),
        (MemoryError(), "{audio}: MemoryError: "),
        (RuntimeError("odd"), "{audio}: RuntimeError: odd"),
    ],
)
def test_whatever_goes_wrong_is_a_line(
    job: Job, monkeypatch: pytest.MonkeyPatch, error: Exception, says: str
) -> None:
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr(jobs, "log_recording", fail)
    monkeypatch.setattr(jobs, "_model", lambda *_: None)
    assert log_one(job).error == says.format(audio=job.audio[0])


def test_a_place_that_cannot_be_made_is_a_line(job: Job, makes_folders: list[LogRequest]) -> None:
    job.place.parent.write_text("a file")
    assert "FileExistsError" in log_one(job).error


def test_a_job_that_was_begun_and_not_ended_shows(job: Job) -> None:
    assert not has_begun(job)
    (job.scratch / "k1-0123/run-k1.partial").mkdir(parents=True)
    assert has_begun(job)
    assert not has_begun(replace(job, key="k2"))
