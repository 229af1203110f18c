"""`voxlog review` from its start to each of its ends."""

import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

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
