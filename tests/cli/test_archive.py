"""`voxlog archive`: what it says, and its exit code; the listening is left out here."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from tests.archive.conftest import FolderMaker
from voxlog.archive.job import Done, Job

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> FolderMaker:
    """In place of local processes."""
    maker = FolderMaker()

    def run(jobs: Sequence[Job], workers: int | None) -> Iterator[Done]:
        assert workers in {None, 1}
        return maker(jobs)

    monkeypatch.setattr("voxlog.archive.local.run_here", run)
    return maker


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    tree = tmp_path / "tree"
    tree.mkdir()
    for name in ("one.wav", "two.wav"):
        (tree / name).write_text(name)
    (tree / "two again.wav").write_text("two.wav")
    return tree


def test_what_was_done_is_said(
    voxlog: Run, made: FolderMaker, tree: Path, sheet: Path, tmp_path: Path
) -> None:
    command = ("archive", tree, "--sheet", sheet, "--out", tmp_path / "out")
    made.bad = ("one.wav",)
    code, out, err = voxlog(*command)
    assert (code, err) == (2, f"voxlog: {tree / 'one.wav'}: no audio in it\n")
    assert out == (
        "1 logged, 1 the same audio as another, 1 failed\n"
        f"1 runs in the table: {tmp_path / 'out/events'}\n"
    )
    made.bad = ()
    code, out, err = voxlog(*command, "--workers", "1")
    assert (code, err) == (0, "")
    assert out.startswith("1 logged, 1 there already, 1 the same audio as another\n2 runs")
    code, out, err = voxlog(*command)
    assert out.startswith("2 there already, 1 the same")


def test_the_map_is_part_of_the_job(
    voxlog: Run, made: FolderMaker, tree: Path, sheet: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    voxlog("archive", tree, "--sheet", sheet, "--out", out, "--map", "2=attendant")
    assert [job.positions for job in made.jobs] == [{1: "attendant"}] * 2


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--map", "1=nobody"), "the sheet has no position nobody"),
        (("--model", "nothing"), "model nothing"),
        (("--index", "nowhere.csv"), "nowhere.csv: cannot be read"),
        (("--workers", "0"), "see voxlog archive --help"),
        (("--scheduler", "tcp://127.0.0.1:9"), "no Dask scheduler answers there"),
    ],
)
def test_what_cannot_be_done_is_one_line(
    voxlog: Run,
    tree: Path,
    sheet: Path,
    tmp_path: Path,
    arguments: tuple[str, ...],
    says: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("voxlog.archive.cluster.TIMEOUT", "1s")
    code, out, err = voxlog("archive", tree, "--sheet", sheet, "--out", tmp_path / "o", *arguments)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert says in err
