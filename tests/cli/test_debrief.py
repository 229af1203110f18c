"""`voxlog debrief`, and what becomes of a log whose page cannot be made."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.debrief.made import make_folder
from voxlog.cli.debrief import leave_debrief
from voxlog.debrief.write import DEBRIEF
from voxlog.errors import InputError
from voxlog.log.verify import verify


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_folder(tmp_path / "s-07")


def test_it_says_where_the_page_is(folder: Path, voxlog: Callable) -> None:
    done = voxlog("debrief", folder)
    assert (done.code, done.out, done.err) == (0, f"Debrief: {folder / DEBRIEF}\n", "")


def test_another_place_and_without_sound(folder: Path, tmp_path: Path, voxlog: Callable) -> None:
    out = tmp_path / "page.html"
    assert voxlog("debrief", folder, "--out", out, "--no-clips").code == 0
    assert "<audio" not in out.read_text(encoding="utf-8")
    assert not (folder / DEBRIEF).exists()


def test_what_is_no_run_folder_is_one_line(tmp_path: Path, voxlog: Callable) -> None:
    done = voxlog("debrief", tmp_path)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
    assert "not a run folder" in done.err


@pytest.mark.parametrize(
    ("error", "reason"),
    [
        (InputError("page: disk full; free some"), "(page: disk full; free some)"),
        (ZeroDivisionError("division by\nzero"), "(ZeroDivisionError: division by zero)"),
        (KeyboardInterrupt(), "(stopped)"),
        (ImportError("no jinja2"), "(ImportError: no jinja2)"),
    ],
)
def test_whatever_goes_wrong_is_a_warning_and_the_log_stands(
    folder: Path,
    error: BaseException,
    reason: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def broken(_: Path) -> Path:
        raise error

    monkeypatch.setattr("voxlog.debrief.write.write_debrief", broken)
    leave_debrief(folder)
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert reason in err
    assert f"voxlog debrief {folder}" in err
    assert verify(folder).is_whole


def test_it_is_silent_where_stdout_is_for_programs(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    leave_debrief(folder, quiet=True)
    assert capsys.readouterr() == ("", "")
    assert (folder / DEBRIEF).is_file()
