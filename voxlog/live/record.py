"""Record a run, or finish one that was broken off: from a source of audio to a whole run folder."""

import os
import threading
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import Protocol

import soundfile

from voxlog.audio import RATE
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import segments
from voxlog.capture.clock import AudioClock, ClockMark
from voxlog.capture.finish import finish
from voxlog.capture.journal import Journal
from voxlog.capture.source import Source
from voxlog.follow.event import Event
from voxlog.live.follower import LiveFollower
from voxlog.live.intake import Intake
from voxlog.live.provisional import Difference, NumberedRow
from voxlog.live.session import Latency, Session, change_record, rows_of
from voxlog.live.state import RunState
from voxlog.log.folder import CHAINED, AudioFile, RunFacts, header_of
from voxlog.log.live_folder import begin_folder, finish_folder, read_begun
from voxlog.log.live_log import LiveLog, LiveRun, note_record
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import Phrase, sheet_phrases
from voxlog.speech.listen import Recognise, listen
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import ModelFiles, find_model
from voxlog.speech.recognise import Recogniser
from voxlog.speech.record import utterance_record
from voxlog.voice.output import Output
from voxlog.voice.speech import Speech
from voxlog.voice.voice import Voice

__all__ = [
    "Display",
    "Listener",
    "LiveResult",
    "Sound",
    "difference_in_words",
    "record_run",
    "resume_run",
]

AUDIO = "audio"
SHOW_EVERY_S = 0.25
LIVE_THREADS = 2


class Display(Protocol):
    """Where states of the run are shown."""

    def show(self, state: RunState) -> None: ...


@dataclass(frozen=True, slots=True)
class Sound:
    """Where the run's advice and answers are spoken. speech: None for a tone only."""

    output: Output
    speech: Speech | None


@dataclass(frozen=True)
class Listener:
    """A sheet with the recogniser that listens for it; loading takes seconds."""

    sheet_yaml: bytes
    sheet: Sheet
    phrases: tuple[Phrase, ...]
    model: ModelFiles
    recognise: Recognise

    @classmethod
    def load(cls, sheet: Path, model: str, cache: Path) -> "Listener":
        """InputError for a bad sheet or model."""
        loaded = load_sheet(sheet)
        phrases = sheet_phrases(loaded)
        speech = SpeechModel(find_model(model, cache), LIVE_THREADS)
        recognise = Recogniser(speech, phrases, cache).utterances
        return cls(sheet.read_bytes(), loaded, phrases, speech.files, recognise)


@dataclass(frozen=True, slots=True)
class LiveResult:
    """What came of it. seconds: length of the recording. difference: provisional against final."""

    sheet: Sheet
    events: tuple[Event, ...]
    seconds: float
    difference: Difference
    latencies: tuple[Latency, ...] = field(default=(), repr=False)


def record_run(
    listener: Listener,
    source: Source,
    out: Path,
    display: AbstractContextManager[Display],
    stop: threading.Event,
    *,
    positions: Mapping[int, str] | None = None,
    sound: Sound | None = None,
    patient: bool = False,
) -> LiveResult:
    """Record until the source ends or `stop` is set, then finish the run folder.

    positions: 0-based channel to position. patient: the source can wait, as a rehearsal can. Raises
    InputError for a place that is taken, and at the end for a disk that does not take the log; the
    recording is then on the disk and `resume_run` finishes it.
    """
    out = out.absolute()
    facts = _facts(listener, positions or {}, source.name, datetime.now(UTC))
    log = begin_folder(out, facts)
    journal = Journal(out / AUDIO, source.channels, source.rate)
    intake = Intake(source, journal, log.append, patient=patient)
    follower = LiveFollower(listener.sheet, listener.phrases, positions or {})
    session = Session(follower, listener.recognise, intake, log)
    voice = None if sound is None else Voice(sound.output, sound.speech, session.spoken)
    session.start(voice)
    with display as shown:
        while not (stop.is_set() or session.is_over):
            shown.show(session.state())
            stop.wait(SHOW_EVERY_S)
        intake.stop()
        session.finish()
        shown.show(session.state())
    if voice is not None:
        voice.close()
    journal.close()
    intake.tell_of_journal()
    dated = _dated(facts, intake.clock())
    seconds = _close(out, log, dated, listener, follower, (intake.fault,) if intake.fault else ())
    return _result(listener, follower, seconds, tuple(session.latencies))


def resume_run(
    path: Path,
    load: Callable[[Path, str], Listener],
    progress: Callable[[float, float | None], None],
) -> LiveResult:
    """Finish a run that was broken off, from its audio; what its log has stays in it.

    load: makes a listener from a sheet's path and a model's name. progress: called with the seconds
    done and the seconds there are. InputError where there is nothing to finish.
    """
    path = path.absolute()
    begun = read_begun(path)
    listener = load(path / "sheet.yaml", begun.model)
    facts = _facts(listener, begun.positions, begun.source, begun.start)
    log, run = LiveLog.take_up(path / CHAINED, header_of(facts), 0)
    recording = open_recording([channel.path for channel in finish(path / AUDIO)])
    done = partial(_progress, progress, recording.seconds)
    heard = list(listen(listener.recognise, segments(recording), done))
    follower = LiveFollower(
        listener.sheet,
        listener.phrases,
        begun.positions,
        rows=[NumberedRow(number, event) for number, event in run.rows().items()],
        first=run.first_rows(),
        next_number=run.next_number,
    )
    log.append(*map(change_record, follower.push(*heard)))
    log.append(*map(change_record, follower.finish(recording.seconds or 0.0)))
    dated = _dated(facts, _clock_of(run))
    return _result(listener, follower, _close(path, log, dated, listener, follower), ())


def difference_in_words(difference: Difference) -> str:
    """How what was reported while the run went compares with the final pass."""
    return (
        f"of the rows reported during the run {difference.stood} stood, "
        f"{difference.corrected} were corrected, {difference.withdrawn} withdrawn; "
        f"{difference.only_at_end} came only at the end"
    )


def _progress(
    progress: Callable[[float, float | None], None], seconds: float | None, at: float
) -> None:
    progress(at, seconds)


def _facts(
    listener: Listener, positions: Mapping[int, str], source: str, start: datetime | None
) -> RunFacts:
    return RunFacts(
        sheet_id=listener.sheet.id,
        sheet_title=listener.sheet.title,
        sheet_yaml=listener.sheet_yaml,
        model=listener.model.name,
        model_sha256=listener.model.sha256,
        audio=(),
        versions={name: version(name) for name in ("voxlog", "faster-whisper", "ctranslate2")},
        start=start,
        start_source="clock" if start else "",
        settings={
            "source": source,
            "positions": {str(n + 1): name for n, name in sorted(positions.items())},
        },
    )


def _dated(facts: RunFacts, clock: AudioClock | None) -> RunFacts:
    """With the start and the drift that the run's clocks give."""
    if clock is None:
        return facts
    return replace(facts, start=clock.utc_of(0), drift_ppb=round(clock.drift_ppm * 1000))


def _clock_of(run: LiveRun) -> AudioClock | None:
    """From the marks that a broken-off log holds, in samples of its own clock."""
    marks = [
        ClockMark(record["sample"], record["monotonic_us"] * 1000, record["wall_us"] * 1000)
        for record in run.records
        if record.get("record") == "clock"
    ]
    return AudioClock(RATE, marks) if marks else None


def _close(
    path: Path,
    log: LiveLog,
    facts: RunFacts,
    listener: Listener,
    follower: LiveFollower,
    warnings: tuple[str, ...] = (),
) -> float:
    """Make the recording whole and close the log; the recording's seconds."""
    stored = finish(path / AUDIO)
    rates = [soundfile.info(os.fsencode(channel.path)).samplerate for channel in stored]
    audio = tuple(
        AudioFile(channel.path, channel.sha256, rate, 1, channel.samples)
        for channel, rate in zip(stored, rates, strict=True)
    )
    end = round(stored[0].samples / rates[0] * RATE)
    log.append(note_record("difference", end, difference_in_words(follower.difference())))
    facts = replace(facts, audio=audio, warnings=warnings)
    heard = (utterance_record(one, listener.phrases) for one in follower.utterances)
    finish_folder(path, log, facts, heard, rows_of(follower))
    return float(stored[0].samples / rates[0])


def _result(
    listener: Listener, follower: LiveFollower, seconds: float, latencies: tuple[Latency, ...]
) -> LiveResult:
    events = tuple(event for _, event in rows_of(follower))
    return LiveResult(listener.sheet, events, seconds, follower.difference(), latencies)
