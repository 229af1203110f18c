"""The program as a process: help at once, and every way to end it."""

import os
import re
import signal
import subprocess
import sys
import time
from importlib.metadata import version
from pathlib import Path

import pytest

from voxlog import __version__

ROOT = Path(__file__).parents[2]
PROGRAM = [sys.executable, "-m", "voxlog"]


def run(*arguments: str, **options: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*PROGRAM, *arguments], capture_output=True, text=True, check=False, cwd=ROOT, **options
    )


@pytest.mark.parametrize("arguments", [[], ["--help"], ["-h"]])
def test_help_lists_the_commands(arguments: list[str]) -> None:
    done = run(*arguments)
    assert (done.returncode, done.stderr) == (0, "")
    for name in ("log", "verify", "score", "demo", "sheet"):
        assert re.search(rf"^  {name} ", done.stdout, re.MULTILINE)
    assert max(map(len, done.stdout.splitlines())) <= 80


def test_version_is_that_of_the_package() -> None:
    done = run("--version")
    assert done.stdout == f"voxlog {__version__}\n"
    assert version("voxlog") == __version__


def test_help_loads_nothing_heavy() -> None:
    """So that it answers in a fraction of a second; the limit is on what is loaded, not on time."""
    program = (
        "import sys; from voxlog.cli.app import main; main(['--help']);"
        "print(*sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT
    )
    loaded = set(done.stdout.splitlines()[-1].split())
    heavy = {"numpy", "faster_whisper", "ctranslate2", "onnxruntime", "av", "soundfile", "ruamel"}
    assert "typer" in loaded
    heavy |= {"sounddevice", "pandas", "scipy", "huggingface_hub", "cryptography"}
    heavy |= {"starlette", "uvicorn", "jinja2", "asyncio"}
    heavy |= {"pyarrow", "edfio", "distributed", "sqlite3", "multiprocessing"}
    assert not loaded & heavy


def test_a_reader_that_goes_away_is_no_error() -> None:
    done = subprocess.run(
        f"{sys.executable} -m voxlog sheet schema | head -n 1",
        shell=True,
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert (done.stdout, done.stderr) == ("{\n", "")


@pytest.mark.slow
@pytest.mark.parametrize("signal_number", [signal.SIGINT, signal.SIGTERM])
def test_stopping_leaves_nothing(signal_number: int, tmp_path: Path) -> None:
    environment = {**os.environ, "VOXLOG_CACHE": str(ROOT / ".cache" / "voxlog")}
    process = subprocess.Popen(
        [*PROGRAM, "demo", "--out", str(tmp_path / "run")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env=environment,
    )
    begun = time.monotonic()
    while not (tmp_path / "run.partial/audio").exists():
        assert process.poll() is None
        assert time.monotonic() < begun + 300
        time.sleep(0.1)
    process.send_signal(signal_number)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert (out, err) == ("", "voxlog: stopped; a log that was not finished is not kept\n")
    assert list(tmp_path.iterdir()) == []
