"""A run that was broken off is taken up again, whatever rate it has and whatever is left of it."""

import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr
from numpy.typing import NDArray

from tests.audio.sounds import speech
from tests.live.scripted import as_heard
from tests.live.shown import Shown
from tests.live.small import SHEET, listed, said
from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.capture.block import Block
from voxlog.capture.journal import Journal
from voxlog.errors import InputError
from voxlog.live.ending import AUDIO, facts_of
from voxlog.live.listener import Listener
from voxlog.live.resume import find_broken_off, take_up
from voxlog.log.live_folder import begin_folder
from voxlog.log.live_log import clock_record, read_live
from voxlog.log.people import People
from voxlog.log.verify import read_events, verify
from voxlog.speech.model_files import ModelFiles
from voxlog.speech.utterance import Utterance

Floats = NDArray[np.float32]

DEVICE_RATE = 48_000
WALL_NS = 1_795_600_000_000_000_000
GAP_S = 5
VOICE = 0.3 * speech("cards/001.wav", "cards/003.wav", pause=1.0)
SAMPLES = np.rint(32767 * soxr.resample(VOICE, RATE, DEVICE_RATE)).astype(np.int16)[np.newaxis]
SIZE = DEVICE_RATE // 20


def blocks(wall_ns: int, channels: int = 1) -> Iterator[Block]:
    whole = np.repeat(SAMPLES, channels, axis=0)
    for first in range(0, whole.shape[1], SIZE):
        part = whole[:, first : first + SIZE]
        ns = (first + part.shape[1]) * 1_000_000_000 // DEVICE_RATE
        yield Block(part, first, ns, wall_ns + ns)


class Played:
    """The device, some seconds later."""

    rate, name, fault = DEVICE_RATE, "desk", ""

    def __init__(self, channels: int = 1) -> None:
        self.channels = channels

    def blocks(self) -> Iterator[Block]:
        lasted = SAMPLES.shape[1] * 1_000_000_000 // DEVICE_RATE
        return blocks(WALL_NS + lasted + GAP_S * 1_000_000_000, self.channels)

    def stop(self) -> None: ...


def reading(segment: Segment, audio: Floats) -> list[tuple[Utterance, ...]]:
    return [(said(segment.bursts[0].start / RATE, "heart rate seventy", 9.0),)]


@pytest.fixture
def listener(tmp_path: Path) -> Listener:
    files = ModelFiles("none", tmp_path, "0" * 64)
    return Listener(SHEET.encode(), listed().sheet, listed().phrases, files, reading, as_heard)


@pytest.fixture
def broken_off(listener: Listener, tmp_path: Path) -> Path:
    """The folder of a run that was ended by a power cut after its audio was written."""
    out = tmp_path / "run"
    facts = facts_of(listener, {0: "operator"}, "desk", datetime.now(UTC), People())
    log = begin_folder(out, facts)
    journal = Journal(out / AUDIO, 1, DEVICE_RATE)
    for block in blocks(WALL_NS):
        journal.push(block)
    journal.close()
    log.append(clock_record(0, 0, WALL_NS))
    log.close()
    return out


def test_it_goes_on_where_the_clock_says(broken_off: Path, listener: Listener) -> None:
    """Without what was heard before, all of the audio is listened to again."""
    broken = find_broken_off(broken_off)
    assert (broken.audio.rate, broken.begun.source) == (DEVICE_RATE, "desk")
    taken_up = take_up(broken, Played(), lambda sheet, model: listener, lambda at, of: None)
    taken_up.run(Shown(), threading.Event())
    assert verify(broken_off).is_whole
    lasted = SAMPLES.shape[1] / DEVICE_RATE
    [gap] = [r for r in read_live(broken_off / "events.jsonl").records if r.get("record") == "gap"]
    assert gap["sample"] / RATE == pytest.approx(lasted, abs=0.001)
    assert gap["samples"] / RATE == pytest.approx(GAP_S, abs=0.001)
    kept, rate = soundfile.read(broken_off / AUDIO / "channel-1.flac", dtype="int16")
    end = SAMPLES.shape[1] + GAP_S * DEVICE_RATE
    assert rate == DEVICE_RATE
    assert np.array_equal(kept[: SAMPLES.shape[1]], SAMPLES[0])
    assert not kept[SAMPLES.shape[1] : end].any()
    assert np.array_equal(kept[end:], SAMPLES[0])
    starts = [row.start for row in read_events(broken_off) if row.kind == "reading"]
    half = len(starts) // 2
    assert half >= 2
    later = [start - lasted - GAP_S for start in starts[half:]]
    assert later == pytest.approx(starts[:half], abs=0.1)


def test_a_device_of_other_channels_is_refused(broken_off: Path, listener: Listener) -> None:
    broken = find_broken_off(broken_off)
    with pytest.raises(InputError, match="desk: 2 channels, and the run has 1"):
        take_up(broken, Played(2), lambda sheet, model: listener, lambda at, of: None)


def test_audio_is_kept_although_the_model_cannot_be_loaded(broken_off: Path) -> None:
    def load(sheet: Path, model: str) -> Listener:
        raise InputError("model none: not there")

    with pytest.raises(InputError, match="not there"):
        take_up(find_broken_off(broken_off), Played(), load, lambda at, of: None)
    again = find_broken_off(broken_off)
    assert again.audio.samples == 2 * SAMPLES.shape[1] + GAP_S * DEVICE_RATE
    assert len(again.lives) == 2


def test_what_is_finished_or_being_finished_is_not_gone_on_with(broken_off: Path) -> None:
    (broken_off / AUDIO / "channel-1.flac").write_bytes(b"")
    with pytest.raises(InputError, match="without --record"):
        find_broken_off(broken_off)
