"""Record a run: from a source of audio to a whole run folder."""

import threading
from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from voxlog.capture.journal import Journal
from voxlog.capture.source import Source
from voxlog.live.ending import AUDIO, LiveResult, close_run, dated, facts_of
from voxlog.live.follower import LiveFollower
from voxlog.live.heard import HEARD, HeardFile
from voxlog.live.intake import Intake
from voxlog.live.listener import Listener
from voxlog.live.notes import Notes
from voxlog.live.session import Session
from voxlog.live.state import RunState
from voxlog.log.folder import RunFacts
from voxlog.log.live_folder import begin_folder
from voxlog.log.live_log import LiveLog
from voxlog.log.people import People
from voxlog.voice.output import Output
from voxlog.voice.speech import Speech
from voxlog.voice.voice import Voice

__all__ = ["Display", "Recorder", "Sound", "record_run"]

SHOW_EVERY_S = 0.25


class Display(Protocol):
    """Where states of the run are shown."""

    def show(self, state: RunState) -> None: ...


@dataclass(frozen=True, slots=True)
class Sound:
    """Where the run's advice and answers are spoken. speech: None for a tone only."""

    output: Output
    speech: Speech | None


def record_run(  # noqa: PLR0913  # what a run is made with
    listener: Listener,
    source: Source,
    out: Path,
    display: AbstractContextManager[Display],
    stop: threading.Event,
    *,
    positions: Mapping[int, str] | None = None,
    people: People | None = None,
    sound: Sound | None = None,
    patient: bool = False,
) -> LiveResult:
    """Record until the source ends or `stop` is set, then finish the run folder.

    positions: 0-based channel to position. people: codes of who is in the run. patient: the source
    can wait, as a rehearsal can. Raises InputError for a place that is taken, and at the end for a
    disk that does not take the log; the recording is then on the disk and can be resumed.
    """
    out = out.absolute()
    listener = listener.with_voices(positions or {})
    facts = facts_of(listener, positions or {}, source.name, datetime.now(UTC), people or People())
    log = begin_folder(out, facts)
    journal = Journal(out / AUDIO, source.channels, source.rate)
    notes = Notes(log.append)
    recorder = Recorder(
        out, log, journal, notes, Intake(source, journal, notes.put, patient=patient)
    )
    recorder.intake.start()
    follower = LiveFollower(listener.sheet, listener.phrases, positions or {})
    return recorder.run(facts, listener, follower, display, stop, sound)


@dataclass(frozen=True, slots=True)
class Recorder:
    """What a run is recorded with, from its first sample on."""

    path: Path
    log: LiveLog
    journal: Journal
    notes: Notes
    intake: Intake

    def run(
        self,
        facts: RunFacts,
        listener: Listener,
        follower: LiveFollower,
        display: AbstractContextManager[Display],
        stop: threading.Event,
        sound: Sound | None,
    ) -> LiveResult:
        """Listen to what comes in until that ends or `stop` is set; close the run then."""
        heard = HeardFile(self.path / HEARD)
        session = Session(
            follower, listener.attempts, listener.answered, self.intake, self.log, heard
        )
        voice = None if sound is None else Voice(sound.output, sound.speech, session.spoken)
        session.start(voice)
        with display as shown:
            while not (stop.is_set() or session.is_over):
                shown.show(session.state())
                stop.wait(SHOW_EVERY_S)
            self.intake.stop()
            session.finish()
            shown.show(session.state())
        if voice is not None:
            voice.close()
        self.end()
        fault = self.intake.fault
        return close_run(
            self.path,
            self.log,
            dated(facts, self.intake.clock()),
            listener,
            follower,
            warnings=(fault,) if fault else (),
            latencies=tuple(session.latencies),
        )

    def end(self) -> None:
        """Take no more; what came is on the disk and in the log then."""
        self.intake.stop()
        self.intake.join()
        self.journal.close()
        self.intake.tell_of_journal()
        self.notes.close()
