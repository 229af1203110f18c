"""A run recorded from beginning to end, and one that is killed: with the real parts."""

import random
import signal
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.live.scripted import AUDIO, listener_of
from tests.live.shown import Shown
from voxlog.audio import RATE
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import segments
from voxlog.capture.journal import recover
from voxlog.capture.rehearsal import Rehearsal
from voxlog.errors import InputError
from voxlog.follow.query import follow_run
from voxlog.live.ending import LiveResult
from voxlog.live.listener import Listener
from voxlog.live.record import record_run
from voxlog.live.resume import find_broken_off, finish_run, take_up
from voxlog.log.live_log import read_live
from voxlog.log.record import rounded
from voxlog.log.table import read_table
from voxlog.log.verify import read_events, verify
from voxlog.score.score import score
from voxlog.speech.listen import listen

Floats = NDArray[np.float32]

ROOT = Path(__file__).parents[2]
CACHE = ROOT / ".cache" / "voxlog"
TRUTH = ROOT / "samples_synthetic" / "demo.truth.csv"

pytestmark = pytest.mark.slow


def record(listener: Listener, out: Path, speed: float = 0.0) -> LiveResult:
    source = Rehearsal(open_recording([AUDIO]), speed)
    return record_run(listener, source, out, Shown(), threading.Event(), patient=True)


def test_a_run_recorded_live_is_the_run_logged_afterwards(real: Listener, tmp_path: Path) -> None:
    """Item status within 0.02 of the offline log's, against the truth; the folder is whole."""
    speech = segments(open_recording([AUDIO]))
    utterances = sorted(
        listen(real.recognise, real.answered, speech, lambda at: None),
        key=lambda one: (one.start, one.channel),
    )
    seconds = open_recording([AUDIO]).seconds or 0.0
    offline = follow_run(utterances, real.sheet, real.phrases, seconds)
    live = record(real, tmp_path / "run")
    truth = read_table(TRUTH)
    expected = score(offline, truth).item_status.share or 0.0
    assert score(live.events, truth).item_status.share == pytest.approx(expected, abs=0.02)
    assert verify(tmp_path / "run").is_whole
    assert read_events(tmp_path / "run") == list(live.events)
    assert live.difference.stood > 0.8 * len(live.events)
    records = read_live(tmp_path / "run" / "events.jsonl").records
    advised = [record["step"] for record in records if record.get("record") == "advice"]
    assert advised == ["11", "masks-off"]


def kill_at(seconds: float, heard: Path, out: Path, speed: int = 8) -> int:
    """Record in another process, and kill that; how many samples it had taken last it said."""
    command = [sys.executable, "-m", "tests.live.record_child", str(heard), str(out), str(speed)]
    child = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    taken = 0
    while taken == 0:
        taken = int(child.stdout.readline())
    time.sleep(seconds)
    child.send_signal(signal.SIGKILL)
    rest, _ = child.communicate()
    # The last line may be cut off; the one before is whole.
    return int(rest.splitlines()[-2]) if rest.count("\n") > 1 else taken


MOMENTS = [round(random.Random(number).uniform(0.05, 6.0), 2) for number in range(30)]


@pytest.mark.parametrize("moment", MOMENTS)
def test_a_killed_run_is_finished_from_what_is_on_the_disk(
    moment: float, heard: Path, tmp_path: Path
) -> None:
    out = tmp_path / "run"
    taken = kill_at(moment, heard, out)
    kept = recover(out / "audio").samples
    assert taken - kept <= RATE
    before = read_live(out / "events.jsonl")
    lines = (out / "events.jsonl").read_bytes()[: before.whole_bytes]
    assert before.header is not None
    assert not verify(out).is_whole

    result = finish_run(out, partial(listener_of, heard), lambda done, of: None)
    assert verify(out).is_whole
    assert (out / "events.jsonl").read_bytes().startswith(lines)
    assert result.seconds * RATE == pytest.approx(kept)
    assert [rounded(event) for event in result.events] == list(result.events)
    known = {number for number, _ in before.first_rows().items()}
    assert known <= set(read_live(out / "events.jsonl").first_rows())
    with pytest.raises(InputError, match="finished"):
        finish_run(out, partial(listener_of, heard), lambda done, of: None)


def take_up_again(heard: Path, out: Path) -> LiveResult:
    """Go on recording, with as much of the demonstration as had not gone by meanwhile."""
    broken = find_broken_off(out)
    source = Rehearsal(open_recording([AUDIO]), 0.0, skip=broken.due(time.time_ns()))
    load = partial(listener_of, heard)
    taken_up = take_up(broken, source, load, lambda done, of: None, patient=True)
    return taken_up.run(Shown(), threading.Event())


def samples_of(path: Path) -> Floats:
    return np.concatenate(list(open_recording([path]).blocks()), axis=1)[0]


def test_a_killed_run_is_recorded_on_with_a_gap(heard: Path, tmp_path: Path) -> None:
    """In real time until it is killed: only then the clock tells how long the gap is."""
    out = tmp_path / "run"
    kill_at(9.0, heard, out, speed=1)
    killed = time.monotonic()
    kept = recover(out / "audio").samples
    lines = (out / "events.jsonl").read_bytes()
    time.sleep(2.0)
    between = time.monotonic() - killed
    result = take_up_again(heard, out)
    assert verify(out).is_whole
    assert not (out / "heard.jsonl").exists()
    assert (out / "events.jsonl").read_bytes().startswith(lines)

    [gap] = [r for r in read_live(out / "events.jsonl").records if r.get("record") == "gap"]
    end = gap["sample"] + gap["samples"]
    assert (gap["sample"], gap["text"]) == (kept, "recording was interrupted")
    assert gap["samples"] / RATE == pytest.approx(between, abs=0.5)
    played, got = samples_of(AUDIO), samples_of(out / "audio" / "channel-1.flac")
    assert np.array_equal(got[:kept], played[:kept])
    assert not got[kept:end].any()
    # What was played again went on by the same clock, so it lies where it would have been.
    assert np.array_equal(got[end:], played[-len(got[end:]) :])
    assert (len(got) - len(played)) / RATE == pytest.approx(0, abs=0.5)
    truth = [row.item for row in read_table(TRUTH) if row.kind == "item"]
    assert [row.item for row in result.events if row.kind == "item"] == truth


def test_a_folder_that_is_no_run_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"run\.json"):
        finish_run(tmp_path, partial(listener_of, tmp_path), lambda done, of: None)
