"""`voxlog export`: every format from a run folder, which stays as it was."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.export.conftest import make_run
from voxlog.export.formats import FORMATS
from voxlog.log.verify import verify

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_run(tmp_path / "s-07", None)


@pytest.mark.parametrize("name", FORMATS)
def test_a_file_beside_the_folder(voxlog: Run, folder: Path, name: str) -> None:
    before = {path: path.read_bytes() for path in folder.iterdir()}
    code, out, err = voxlog("export", folder, "--to", name)
    place = folder.with_name(f"s-07{FORMATS[name].suffix}")
    assert code == 0
    assert out.startswith(f"4 rows, not reviewed: {place}")
    assert place.stat().st_size > 0
    assert ("time:timestamp" in err) == (name == "xes")
    assert {path: path.read_bytes() for path in folder.iterdir()} == before
    assert verify(folder).is_whole


def test_marks_are_repeated_and_doubted(voxlog: Run, folder: Path) -> None:
    marks = "1=11,101=116"
    code, out, err = voxlog("export", folder, "--to", "vtt", "--clock", marks)
    assert code == 0
    assert "recorder's clock: +9.950 s at the log's 0, runs +50000.0 ppm" in out
    assert err.startswith("voxlog: --clock: by these marks the recorder runs 5.00 % fast")
    assert "00:00:11.000 --> " in folder.with_name("s-07.vtt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--to", "pdf"), "edf"),
        (("--to", "vtt", "--clock", "1=2,1=3"), "--clock 1=2,1=3: both marks"),
        (("--to", "vtt", "--out", "FOLDER/x.vtt"), "the log vouches for"),
    ],
)
def test_bad_input_is_one_line(
    voxlog: Run, folder: Path, arguments: tuple[str, ...], says: str
) -> None:
    given = (argument.replace("FOLDER", str(folder)) for argument in arguments)
    code, out, err = voxlog("export", folder, *given)
    assert (code, out) == (2, "")
    assert says in err and err.count("\n") == 1


def test_a_second_export_replaces_only_when_told(voxlog: Run, folder: Path) -> None:
    assert voxlog("export", folder, "--to", "csv")[0] == 0
    code, _, err = voxlog("export", folder, "--to", "csv")
    assert (code, "--overwrite" in err) == (2, True)
    assert voxlog("export", folder, "--to", "csv", "--overwrite")[0] == 0


def test_what_is_no_run_folder_is_told(voxlog: Run, tmp_path: Path) -> None:
    code, _, err = voxlog("export", tmp_path, "--to", "csv", "--out", tmp_path.parent / "x.csv")
    assert (code, "not a run folder" in err) == (2, True)
