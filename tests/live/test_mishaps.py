"""What goes wrong on the day, in whole runs: the run goes on, and the log says what is missing."""

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from tests.capture.sound_server import sound_server, why_not
from tests.conftest import ROOT
from tests.live.conftest import CACHE
from tests.live.scripted import AUDIO, SHEET, listener_of
from tests.live.shown import Shown
from voxlog.audio import RATE
from voxlog.audio.recording import open_recording
from voxlog.audio.segment import Segment
from voxlog.capture.block import Block
from voxlog.capture.rehearsal import Rehearsal
from voxlog.live.ending import LiveResult
from voxlog.live.listener import Listener
from voxlog.live.record import record_run
from voxlog.live.state import RunState
from voxlog.log.live_log import read_live
from voxlog.log.verify import read_events, verify
from voxlog.speech.utterance import Utterance

Floats = NDArray[np.float32]

pytestmark = pytest.mark.slow

WHOLE_S = soundfile.info(AUDIO).duration


def record(
    listener: Listener, source: Rehearsal, out: Path, shown: Shown | None = None
) -> LiveResult:
    return record_run(listener, source, out, shown or Shown(), threading.Event())


@pytest.fixture(scope="module")
def straight(heard: Path, tmp_path_factory: pytest.TempPathFactory) -> LiveResult:
    """The run when nothing goes wrong."""
    source = Rehearsal(open_recording([AUDIO]), 0.0)
    out = tmp_path_factory.mktemp("straight") / "run"
    stop = threading.Event()
    return record_run(listener_of(heard), source, out, Shown(), stop, patient=True)


def items(result: LiveResult) -> list[str]:
    return [event.item for event in result.events]


def records(out: Path, *kinds: str) -> list[Any]:
    found = read_live(out / "events.jsonl").records
    return [record for record in found if record.get("record") in kinds]


def samples_of(path: Path) -> NDArray[np.int16]:
    return soundfile.read(path, dtype="int16")[0]  # type: ignore[no-any-return]


class Stalling:
    """Listens as another does, but stands still for a while at one segment."""

    def __init__(self, listener: Listener, at: int, seconds: float) -> None:
        self._attempts = listener.attempts
        self._at = at
        self._seconds = seconds
        self._count = 0

    def __call__(self, segment: Segment, audio: Floats) -> Iterable[tuple[Utterance, ...]]:
        self._count += 1
        if self._count == self._at:
            time.sleep(self._seconds)
        return self._attempts(segment, audio)


def test_a_recogniser_that_stalls_for_a_minute_costs_no_audio_and_no_rows(
    heard: Path, straight: LiveResult, tmp_path: Path
) -> None:
    """Eight times as fast, so eight seconds of stalling are over a minute of the run."""
    listener = listener_of(heard)
    stalled = replace(listener, attempts=Stalling(listener, 10, 8.0))
    out = tmp_path / "run"
    shown = Shown()
    result = record(stalled, Rehearsal(open_recording([AUDIO]), 8.0), out, shown)
    assert verify(out).is_whole
    assert result.seconds == straight.seconds
    assert items(result) == items(straight)
    texts = [record["text"] for record in records(out, "warning")]
    assert [text.split()[0] for text in texts] == ["listening", "caught"]
    assert max(state.behind_s for state in shown.states) > 50
    assert "listening: behind by" in shown.lines
    assert "listening: caught up" in shown.lines


class Stepped(Rehearsal):
    """A rehearsal on a machine whose clock is set forward by an hour after 70 s."""

    def blocks(self) -> Iterator[Block]:
        for block in super().blocks():
            late = 3_600_000_000_000 if block.end > 70 * RATE else 0
            yield replace(block, wall_ns=block.wall_ns + late)


def test_a_clock_that_is_set_moves_no_row(heard: Path, tmp_path: Path) -> None:
    wall_ns = 1_795_600_000_000_000_000
    out = tmp_path / "run"
    source = Stepped(open_recording([AUDIO]), 0.0, wall_ns)
    record_run(listener_of(heard), source, out, Shown(), threading.Event(), patient=True)
    assert verify(out).is_whole
    [step] = [record for record in records(out, "warning") if "clock" in record["text"]]
    assert step["text"] == "the system's clock was set by +3600.000 s; utc goes on as before"
    assert 70 * RATE < step["sample"] <= 130 * RATE
    first, *_, last = (out / "events.csv").read_text().splitlines()[1:]
    start = np.datetime64(wall_ns, "ns")
    for line in (first, last):
        _, t, _, utc, *_ = line.split(",")
        apart = np.datetime64(utc.rstrip("Z"), "ns") - start
        assert apart / np.timedelta64(1, "s") == pytest.approx(float(t), abs=0.002)


@contextmanager
def small_disk(path: Path, megabytes: int) -> Iterator[Path]:
    path.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", str(path)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("mounting a small disk needs root")
    try:
        yield path
    finally:
        subprocess.run(["umount", "--lazy", str(path)], check=True)


def test_a_disk_that_is_full_for_a_while_costs_nothing(
    heard: Path, straight: LiveResult, tmp_path: Path
) -> None:
    """Somebody else fills it; two seconds after the screen has said so, it is freed again."""
    with small_disk(tmp_path / "disk", 24) as disk:
        other, out = disk / "other", disk / "run"
        other.write_bytes(bytes(shutil.disk_usage(disk).free - 1_000_000))
        full_at: list[float] = []

        def look(state: RunState) -> None:
            if state.fault and not full_at:
                full_at.append(time.monotonic())
            if full_at and time.monotonic() - full_at[0] > 2.0:
                other.unlink(missing_ok=True)

        shown = Shown(look)
        result = record(listener_of(heard), Rehearsal(open_recording([AUDIO]), 8.0), out, shown)
        assert full_at
        assert result.seconds == pytest.approx(WHOLE_S)
        assert verify(out).is_whole
        assert np.array_equal(samples_of(out / "audio" / "channel-1.flac"), samples_of(AUDIO))
        assert items(result) == items(straight)
        assert read_events(out) == list(result.events)
        told = [r["text"] for r in records(out, "warning") if "audio" in r["text"]]
    assert "audio cannot be kept (No space left on device); free some space" in told[0]
    assert told[1].endswith("audio is kept again")
    assert "recording: not recording: " in shown.lines
    assert not shown.states[-1].fault


@pytest.mark.skipif(bool(why_not()), reason=why_not())
def test_a_device_that_vanishes_and_comes_back_is_a_gap(tmp_path: Path) -> None:
    """The sound server is killed for some seconds in the middle of `voxlog record`."""
    played = samples_of(AUDIO)
    before, after, out = tmp_path / "before.raw", tmp_path / "after.raw", tmp_path / "run"
    played[: 8 * RATE].tofile(before)
    played[8 * RATE : 21 * RATE].tofile(after)
    with sound_server(tmp_path / "server", channels=1) as server:
        command = [sys.executable, "-m", "voxlog", "record", "--device", server.device, "--plain"]
        command += ["--sheet", str(SHEET), "--out", str(out)]
        environment = {**server.environment, "VOXLOG_CACHE": str(CACHE)}
        with subprocess.Popen(
            command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True
        ) as recorder:
            assert recorder.stdout is not None
            hangs = threading.Timer(180, recorder.kill)
            hangs.start()
            assert "recording" in recorder.stdout.readline()
            server.play(before)
            stopped = time.monotonic()
            server.stop()
            time.sleep(3.0)
            server.start()
            started = time.monotonic()
            for line in recorder.stdout:
                if line.endswith("recording: recording\n"):
                    break
            back = time.monotonic()
            server.play(after)
            recorder.send_signal(signal.SIGINT)
            shown, _ = recorder.communicate()
            hangs.cancel()
    assert recorder.returncode == 0, shown
    assert verify(out).is_whole
    [gap] = records(out, "gap")
    assert started - stopped - 0.5 < gap["samples"] / RATE < back - stopped + 0.5
    first, end = gap["sample"], gap["sample"] + gap["samples"]
    assert not samples_of(out / "audio" / "channel-1.flac")[first:end].any()
    rows = [row for row in read_events(out) if row.status == "confirmed"]
    assert any(row.end < first / RATE for row in rows)
    assert any(row.start > end / RATE for row in rows)
