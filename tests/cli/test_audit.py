"""The command `voxlog audit`."""

import json
from pathlib import Path

import pytest

from tests.audit.made_up import write_made_up
from voxlog.audit.rows import FLOOR_S
from voxlog.audit.small_cells import MIN_CELL
from voxlog.cli import audit
from voxlog.cli.app import main


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("audit") / "table"
    write_made_up(folder, 200)
    return folder


@pytest.mark.slow
def test_it_prints_what_stands_out_and_writes_what_is_asked(
    table: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page, folder = tmp_path / "new/page.html", tmp_path / "csv"
    assert main(["audit", str(table), "--out", str(page), "--csv", str(folder)]) == 0
    shown = capsys.readouterr().out
    assert "runs left out: not reviewed" in shown
    assert "heron, item 12" in shown
    assert f"Written: {page}" in shown.replace("\n", "") or str(page) in shown
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert (folder / "rates.csv").is_file()


def test_so_few_runs_that_nothing_is_shown(table: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["audit", str(table), "--min-cell", "500"]) == 0
    shown = capsys.readouterr().out
    assert "Fewer than 500 runs: no figure is shown" in shown and "skipped" not in shown


def test_unreviewed_runs_are_announced(table: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["audit", str(table), "--unreviewed"]) == 0
    assert "NOT FACTS" in capsys.readouterr().out


def test_json_alone_on_stdout(table: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["--json", "--by", "crew", "--sheet", "heron", "--since", "2026-01-01"]
    assert main(["audit", str(table), *arguments, "--min-cell", "3", "--floor", "0.5"]) == 0
    scope = json.loads(capsys.readouterr().out)["scope"]
    assert (scope["by"], scope["sheet"], scope["since"]) == (
        *("crew", "heron", "2026-01-01T00:00:00+00:00"),
    )
    assert (scope["min_cell"], scope["floor_s"], scope["first"]) == (3, 0.5, "2026-01")


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        (["--since", "yesterday"], "--since yesterday: not a date"),
        (["--since", "2030-01-01"], "no run fits --since and --sheet"),
        (["--sheet", "swan"], "no run fits --since and --sheet"),
        (["--by", "mood"], "mood"),
        (["--min-cell", "0"], "--min-cell"),
    ],
)
def test_what_can_be_mended_is_one_line(
    table: Path, arguments: list[str], text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["audit", str(table), *arguments]) == 2
    said = capsys.readouterr()
    assert text in said.err and said.err.count("\n") == 1
    assert said.out == ""


def test_a_place_without_runs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["audit", str(tmp_path)]) == 2
    assert "no runs in it" in capsys.readouterr().err


def test_the_defaults_are_those_of_the_audit() -> None:
    assert (audit.FLOOR_S, audit.MIN_CELL) == (FLOOR_S, MIN_CELL)
