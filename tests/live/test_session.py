"""A run's threads together, with real audio and a recogniser that says what it is told to."""

import threading
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from tests.audio.sounds import speech
from tests.live.scripted import as_heard
from tests.live.shown import Shown
from tests.live.small import SHEET, listed, said
from voxlog.audio import RATE
from voxlog.audio.recording import open_recording
from voxlog.audio.segment import Segment
from voxlog.capture.rehearsal import Rehearsal
from voxlog.live.listener import Listener
from voxlog.live.record import record_run
from voxlog.log.live_log import read_live
from voxlog.speech.model_files import ModelFiles
from voxlog.speech.utterance import Utterance

Floats = NDArray[np.float32]
CARDS = ("cards/001.wav", "cards/003.wav", "cards/004.wav", "goforward.raw")


def operators_words(segment: Segment, audio: Floats) -> list[tuple[Utterance, ...]]:
    return [(said(segment.bursts[0].start / RATE, "hatch shut", 9.0, channel=segment.channel),)]


def test_a_channel_at_fault_is_told_on_the_screen_in_lines_and_in_the_log(tmp_path: Path) -> None:
    """One that is dead, one that has another's voice, and one that is too loud."""
    voice = 0.3 * speech(*CARDS, *CARDS, pause=1.0)
    loud = np.sign(np.sin(np.arange(len(voice)) * 0.05)).astype(np.float32)
    channels = np.stack([np.zeros_like(voice), voice, loud], axis=1)
    soundfile.write(tmp_path / "three.wav", channels, RATE, subtype="PCM_16")
    listener = Listener(
        SHEET.encode(),
        listed().sheet,
        listed().phrases,
        ModelFiles("none", tmp_path, "0" * 64),
        operators_words,
        as_heard,
    )
    shown = Shown()
    positions = {0: "conductor", 1: "attendant", 2: "operator"}
    source = Rehearsal(open_recording([tmp_path / "three.wav"]), 0.0)
    record_run(
        listener,
        source,
        tmp_path / "run",
        shown,
        threading.Event(),
        positions=positions,
        patient=True,
    )
    expected = {
        "conductor": "no sound at all; check its line",
        "attendant": "phrases are operator's; check the patch",
        "operator": "too loud, clipping; turn its input down",
    }
    at_the_end = {one.position: one.warning for one in shown.states[-1].channels}
    records = read_live(tmp_path / "run" / "events.jsonl").records
    warnings = [record["text"] for record in records if record.get("record") == "warning"]
    assert len(warnings) == 3
    for number, (position, text) in enumerate(expected.items(), 1):
        assert at_the_end[position].endswith(text)
        assert f"channel {position}: " in shown.lines
        assert text in shown.lines
        assert [w for w in warnings if w.startswith(f"channel {number}: ") and text in w]
