"""A tree of recordings and a sheet, logged by a program that only makes folders."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.archive.real import PIECES, log_tree, make_tree
from tests.export.conftest import SHEET, make_run
from voxlog.archive.archive import ArchiveRequest, ArchiveResult, log_archive
from voxlog.archive.job import Done, Job
from voxlog.archive.local import run_here

Archive = Callable[..., ArchiveResult]


class FolderMaker:
    """Does jobs without listening. given: the keys of the jobs it was given, in order.

    bad: ends of audio names that cannot be logged. stop_after: jobs after which it is interrupted.
    """

    def __init__(self) -> None:
        self.given: list[str] = []
        self.jobs: list[Job] = []
        self.bad: tuple[str, ...] = ()
        self.stop_after: int | None = None

    def __call__(self, jobs: Sequence[Job]) -> Iterator[Done]:
        for count, job in enumerate(jobs):
            if count == self.stop_after:
                raise KeyboardInterrupt
            self.given.append(job.key)
            self.jobs.append(job)
            if job.audio[0].name.endswith(self.bad or ("\0",)):
                yield Done(job.key, f"{job.audio[0]}: no audio in it")
                continue
            make_run(job.place, job.start)
            yield Done(job.key)


class Undisturbed(NamedTuple):
    """folder: of a tree of real recordings. out: the archive that nothing disturbed."""

    folder: Path
    out: Path
    result: ArchiveResult


@pytest.fixture(scope="session")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> Undisturbed:
    """What an archive comes to when its jobs are done one by one."""
    folder = tmp_path_factory.mktemp("recordings")
    make_tree(folder)
    result = log_tree(folder, folder / "out", partial(run_here, workers=1, cores=1))
    assert (result.logged, result.runs, len(result.failed)) == (PIECES, PIECES, 1)
    assert "bad.wav: not audio" in result.failed[0]
    return Undisturbed(folder, folder / "out", result)


@pytest.fixture
def maker() -> FolderMaker:
    return FolderMaker()


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """Four files: three recordings, one of them twice."""
    tree = tmp_path / "tree"
    (tree / "2026").mkdir(parents=True)
    (tree / "2026/one.wav").write_bytes(b"one")
    (tree / "2026/two.FLAC").write_bytes(b"two")
    (tree / "three (last).mp3").write_bytes(b"three")
    (tree / "two again.flac").write_bytes(b"two")
    (tree / "notes.txt").write_bytes(b"no audio")
    return tree


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "tiny.yaml"
    path.write_text(SHEET, encoding="utf-8")
    return path


@pytest.fixture
def archive(
    tree: Path, sheet: Path, tmp_path: Path, own_cache: Path, maker: FolderMaker
) -> Archive:
    """Logs the tree into tmp_path/out."""

    def run(**changes: object) -> ArchiveResult:
        asked = {
            "tree": tree,
            "sheet": sheet,
            "out": tmp_path / "out",
            "model": "tiny.en",
            "cache": own_cache,
        }
        return log_archive(ArchiveRequest(**{**asked, **changes}), maker, lambda done, of: None)

    return run
