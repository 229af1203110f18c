"""Logging a run reaches nothing outside the machine."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]

GUARD = """\
import sys

def refuse(event, arguments):
    is_local = event == "socket.__new__" and arguments[1] == 1  # AF_UNIX
    if event.startswith("socket.") and not is_local:
        raise SystemExit(f"network: {event} {arguments}")

sys.addaudithook(refuse)
"""


def run(program: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", GUARD + program, *arguments],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )


def test_logging_opens_no_socket(
    recording: Path, sheet: Path, tmp_path: Path, own_cache: Path
) -> None:
    program = "from voxlog.cli.app import main; sys.exit(main())"
    arguments = ("log", str(recording), "--sheet", str(sheet), "--out", str(tmp_path / "run"))
    done = run(program, *arguments)
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / "run/events.csv").is_file()


def test_the_guard_notices_a_socket() -> None:
    assert "network: socket.__new__" in run("import socket; socket.socket()").stderr


def test_the_guard_notices_a_look_up() -> None:
    done = run("import socket; socket.getaddrinfo('localhost', 80)")
    assert "network: socket.getaddrinfo" in done.stderr
