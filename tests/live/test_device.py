"""The whole of it: a run played into a sound server, recorded and logged by the command, scored."""

import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from statistics import median

import pytest
import soundfile

from tests.bench.runs import CACHE, ROOT, RUNS, bench_runs, log_run
from tests.capture.sound_server import sound_server, why_not
from voxlog.follow.event import Event
from voxlog.log.verify import read_events, verify
from voxlog.score.score import score

pytestmark = [pytest.mark.slow, pytest.mark.skipif(bool(why_not()), reason=why_not())]


def test_a_run_from_a_device_is_the_run_logged_from_its_file(tmp_path: Path) -> None:
    """Item status accuracy within 0.02 of the offline log of the same sound.

    Without noise, so that no item is on the edge: with twenty of them one alone is 0.05.
    """
    [run] = bench_runs(RUNS, ["clean"], ["demo"])
    raw, out = tmp_path / "played.raw", tmp_path / "run"
    soundfile.read(run.audio, dtype="int16")[0].tofile(raw)
    with sound_server(tmp_path / "server", channels=1) as server:
        command = [sys.executable, "-m", "voxlog", "record", "--device", server.device, "--plain"]
        command += ["--sheet", str(run.sheet), "--out", str(out)]
        recorder = subprocess.Popen(
            command,
            cwd=ROOT,
            env={**server.environment, "VOXLOG_CACHE": str(CACHE)},
            stdout=subprocess.PIPE,
            text=True,
        )
        assert recorder.stdout is not None
        assert "recording" in recorder.stdout.readline()
        server.play(raw)
        recorder.send_signal(signal.SIGINT)
        shown, _ = recorder.communicate(timeout=60)
    assert recorder.returncode == 0, shown
    assert verify(out).is_whole
    offline, live = log_run(run.audio, run.sheet).events, read_events(out)
    expected = score(offline, run.truth).item_status.share or 0.0
    assert score(_on_the_clock_of(live, offline), run.truth).item_status.share == pytest.approx(
        expected, abs=0.02
    )


def _on_the_clock_of(live: list[Event], offline: tuple[Event, ...]) -> list[Event]:
    """The live rows, with times as if the recording had begun with the sound."""
    starts = {(row.kind, row.item): row.start for row in offline if row.status == "confirmed"}
    late = median(
        row.start - starts[row.kind, row.item]
        for row in live
        if row.status == "confirmed" and (row.kind, row.item) in starts
    )
    return [
        replace(row, start=max(0.0, row.start - late), end=max(0.0, row.end - late)) for row in live
    ]
