"""From run folders to a diff that patch takes, and never a changed file."""

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from voxlog.errors import InputError
from voxlog.learn.learn import learn
from voxlog.sheet.load import load_sheet

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "grammars/demo.yaml"

Reviewed = Callable[..., list[Path]]


def everything(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_patch_makes_a_right_sheet_of_it(reviewed: Reviewed, tmp_path: Path) -> None:
    learnt = learn(reviewed())
    assert learnt.proposed == (
        'item 8, finger sensor: add "sensor is fine" to `confirm`; 3 of 3 runs, 2 reviewers: '
        "from run-1 row 1, run-2 row 1, run-3 row 1",
    )
    assert learnt.left_out == ()
    sheet = tmp_path / "demo.yaml"
    shutil.copy(DEMO, sheet)
    subprocess.run(["patch", "-s"], cwd=tmp_path, input=learnt.diff, text=True, check=True)
    assert load_sheet(sheet).item(8).confirm == ("good trace", "tracing well", "sensor is fine")


@pytest.mark.parametrize("newline", [b"\n", b"\r\n"])
def test_patch_takes_a_sheet_with_other_line_ends_and_none_at_its_end(
    reviewed: Reviewed, tmp_path: Path, newline: bytes
) -> None:
    """Cut after the item that is changed, so that the change is in the last lines."""
    text = DEMO.read_bytes()
    end = text.index(b"      - item: 9")
    text = text[:end].rstrip().replace(b"\n", newline)
    learnt = learn(reviewed(sheet=text))
    sheet = tmp_path / "demo.yaml"
    sheet.write_bytes(text)
    subprocess.run(["patch", "-s", "--binary", str(sheet)], input=learnt.diff.encode(), check=True)
    old = b'"tracing well"]'
    assert sheet.read_bytes() == text.replace(old, old[:-1] + b', "sensor is fine"]')


def test_no_file_is_changed(reviewed: Reviewed, tmp_path: Path) -> None:
    runs = reviewed()
    sheet = tmp_path / "own.yaml"
    shutil.copy(DEMO, sheet)
    before = everything(tmp_path)
    learnt = learn(runs, sheet)
    assert learnt.diff.startswith(f"--- {sheet}\n+++ {sheet}\n")
    assert everything(tmp_path) == before


@pytest.mark.parametrize(
    ("count", "codes", "left_out"),
    [
        (2, "23", "too few, 2 of 2 runs, 2 reviewers; from run-1 row 1, run-2 row 1"),
        (3, "2", "too few, 3 of 3 runs, 1 reviewer; from run-1 row 1, run-2 row 1, run-3 row 1"),
    ],
)
def test_too_few_runs_or_reviewers_propose_nothing(
    reviewed: Reviewed, count: int, codes: str, left_out: str
) -> None:
    learnt = learn(reviewed(count, codes))
    assert (learnt.proposed, learnt.diff) == ((), "")
    assert learnt.left_out == (f'item 8 answered "sensor is fine" (confirm): {left_out}',)


def test_what_the_sheet_has_by_now_is_not_proposed_again(
    reviewed: Reviewed, tmp_path: Path
) -> None:
    sheet = tmp_path / "newer.yaml"
    text = DEMO.read_text(encoding="utf-8")
    sheet.write_text(text.replace('"tracing well"]', '"tracing well", sensor is fine]'))
    learnt = learn(reviewed(), sheet)
    assert learnt.diff == ""
    assert all("answered" not in line for line in learnt.left_out)


def test_runs_of_different_sheets_need_a_sheet_named(reviewed: Reviewed, tmp_path: Path) -> None:
    text = DEMO.read_bytes()
    first = reviewed(1)
    newer = shutil.move(first[0], tmp_path / "older")
    runs = [Path(newer), *reviewed(2, "3", text.replace(b"within: 8", b"within: 9"))]
    with pytest.raises(InputError, match="name the one to change with --sheet"):
        learn(runs)
    # The second run-1 is of another day's log only by its sheet, so it counts.
    assert len(learn(runs, DEMO).proposed) == 1


def test_a_sheet_of_another_id_is_refused(reviewed: Reviewed) -> None:
    with pytest.raises(InputError, match="a run of sheet demo, not of hypoxia-25"):
        learn(reviewed(1), ROOT / "grammars/hypoxia-25.yaml")


def test_a_run_that_was_changed_teaches_nothing(reviewed: Reviewed) -> None:
    runs = reviewed()
    path = runs[1] / "review.jsonl"
    path.write_bytes(path.read_bytes().replace(b"is fine", b"is fire"))
    with pytest.raises(InputError, match=r"run-2: review\.jsonl line 2: changed"):
        learn(runs)
