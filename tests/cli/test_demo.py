"""`voxlog demo`: the shipped recording against the shipped sheet and truth."""

import csv
import os
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from voxlog.cli.demo import RECORDING, SHEET, TRUTH
from voxlog.cli.shipped import shipped
from voxlog.errors import InputError

Run = Callable[..., tuple[int, str, str]]


@pytest.mark.parametrize("name", [SHEET, RECORDING, TRUTH])
def test_what_the_demonstration_needs_is_shipped(name: str) -> None:
    assert shipped(name).is_file()


def test_what_is_not_shipped_is_said_so() -> None:
    with pytest.raises(InputError, match=r"nothing\.flac: not part of this installation"):
        shipped("nothing.flac")


@pytest.mark.slow
def test_the_demonstration_runs_twice_and_scores_itself(
    voxlog: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("voxlog-demo").mkdir()
    code, text, err = voxlog("demo")
    assert (code, err) == (0, "")
    assert "Item status accuracy" in text
    assert text.endswith("Next: voxlog verify voxlog-demo-2\n")
    with Path("voxlog-demo-2/events.csv").open(newline="") as file:
        items = {row["item"] for row in csv.DictReader(file) if row["kind"] == "item"}
    assert items == {str(number) for number in range(1, 21)}


@pytest.mark.slow
def test_an_installed_package_carries_what_it_needs(tmp_path: Path) -> None:
    """The built wheel, unpacked away from the clone."""
    root = Path(__file__).parents[2]
    wheel = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-index"]
    build = [*wheel, "--no-build-isolation", "--wheel-dir", str(tmp_path), str(root)]
    built = subprocess.run(build, capture_output=True, text=True, check=False)
    assert built.returncode == 0, built.stderr
    with zipfile.ZipFile(next(tmp_path.glob("voxlog-*.whl"))) as package:
        package.extractall(tmp_path / "site")
    names = [SHEET, RECORDING, TRUTH]
    program = (
        "import sys; from voxlog.cli.shipped import shipped; print(*map(shipped, sys.argv[1:]))"
    )
    found = subprocess.run(
        [sys.executable, "-c", program, *names],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(tmp_path / "site")},
    )
    assert found.stdout.split() == [str(tmp_path / "site/voxlog/shipped" / name) for name in names]
