"""`voxlog review` from its start to each of its ends."""

import signal
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.review_page.made_up import RATE, make_run
from tests.review_page.server import ROOT, Server
from voxlog.log.verify import verify
from voxlog.review.review_log import read_review


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_request_to_end_ends_it_without_a_word(
    run: Path, serve: Callable[..., Server], number: int
) -> None:
    server = serve(run)
    server.enter()
    server.decide(verdict="stands", row=4)
    server.process.send_signal(number)
    out, err = server.process.communicate(timeout=30)
    assert (server.process.returncode, out, err) == (0, "", "")


@pytest.mark.slow
def test_it_ends_while_sound_is_on_its_way(tmp_path: Path, serve: Callable[..., Server]) -> None:
    """A browser that has paused leaves most of a recording untaken."""
    server = serve(make_run(tmp_path / "long", audio=(np.zeros(900 * RATE, np.float32),)))
    server.enter()
    with socket.create_connection(("127.0.0.1", server.port), timeout=60) as connection:
        lines = (
            f"GET {server.place}audio/0.wav HTTP/1.1",
            f"Host: {server.host}",
            f"Cookie: {server.cookie}",
        )
        connection.sendall("".join(f"{line}\r\n" for line in (*lines, "")).encode())
        assert connection.recv(1000).startswith(b"HTTP/1.1 200 ")
        server.process.send_signal(signal.SIGINT)
        out, err = server.process.communicate(timeout=60)
    assert (server.process.returncode, out, err) == (0, "", "")


def test_a_decision_outlasts_a_killed_server(run: Path, serve: Callable[..., Server]) -> None:
    server = serve(run)
    server.enter()
    assert server.decide(verdict="cleared", row=4, reason="a cough").status == 200
    server.process.kill()
    server.process.wait(30)
    again = serve(run)
    again.enter()
    (kept,) = again.get("decisions").json["decisions"]
    assert (kept["reviewer"], kept["row"], kept["reason"]) == ("C-12", 4, "a cough")
    assert len(read_review(run).decisions) == 1
    assert verify(run).is_whole


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        (["{run}", "--as", "Somebody Real"], "'Somebody Real': not a code; use capitals"),
        (["{run}/gone", "--as", "C-12"], "not a run folder"),
        (["{run}"], "missing option '--as'"),
    ],
)
def test_bad_input_is_one_line(run: Path, arguments: list[str], text: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "voxlog", "review", *(each.format(run=run) for each in arguments)],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        timeout=60,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert text in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_run_without_its_recording_can_be_reviewed(
    run: Path, serve: Callable[..., Server]
) -> None:
    (run / "audio/channel-1.flac").unlink()
    server = serve(run)
    server.enter()
    told = server.get("run").json
    assert (told["has_sound"], told["channels"]) == (False, [])
    assert told["warnings"] == ["audio/channel-1.flac: not in the run folder; it cannot be played"]
    assert {server.get(name).status for name in ("overview", "audio/0.wav", "clip/0/0-10.wav")} == {
        404
    }
    assert server.decide(verdict="stands", row=4).status == 200
