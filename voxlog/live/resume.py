"""A run that was broken off: finish it from its audio, or go on recording it."""

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from voxlog.audio import RATE
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import Segmenter, Speech, segments
from voxlog.capture.block import Block
from voxlog.capture.clock import AudioClock, ClockMark, on_one_clock
from voxlog.capture.feed import Feed
from voxlog.capture.finish import finish
from voxlog.capture.going_on import GoingOn, missing_until
from voxlog.capture.journal import Journal, Recovered, channel_files, recover
from voxlog.capture.source import Source
from voxlog.errors import InputError
from voxlog.live.ending import AUDIO, LiveResult, close_run, dated, facts_of
from voxlog.live.follower import LiveFollower
from voxlog.live.heard import HEARD, read_heard
from voxlog.live.intake import Intake
from voxlog.live.listener import Listener
from voxlog.live.notes import Notes
from voxlog.live.provisional import NumberedRow
from voxlog.live.record import Display, Recorder, Sound
from voxlog.live.session import change_record
from voxlog.log.folder import CHAINED, RunFacts, header_of
from voxlog.log.live_folder import Begun, read_begun
from voxlog.log.live_log import LiveLog, LiveRun, gap_record, read_live
from voxlog.speech.listen import listen
from voxlog.speech.utterance import Utterance
from voxlog.voice.own_voice import is_own_voice

__all__ = ["BrokenOff", "TakenUp", "find_broken_off", "finish_run", "take_up"]

Load = Callable[[Path, str], Listener]
"""Makes a listener from a sheet's path and a model's name."""
Progress = Callable[[float, float | None], None]
"""Takes the seconds that are done and the seconds that there are."""

LEARNING = 10 * RATE
"""Samples from which the noise of a channel is learned before its speech is listened to."""


def finish_run(path: Path, load: Load, progress: Progress) -> LiveResult:
    """Finish a run that was broken off, from its audio; what its log has stays in it.

    InputError where there is nothing to finish.
    """
    path = path.absolute()
    begun = read_begun(path)
    listener = load(path / "sheet.yaml", begun.model).with_voices(begun.positions)
    facts = facts_of(listener, begun.positions, begun.source, begun.start, begun.people)
    log, run = LiveLog.take_up(path / CHAINED, header_of(facts), 0)
    recording = open_recording([channel.path for channel in finish(path / AUDIO)])
    done = partial(_tell_progress, progress, recording.seconds)
    heard = list(listen(listener.recognise, listener.answered, segments(recording), done))
    follower = _follower_of(run, listener, begun)
    log.append(*map(change_record, follower.push(*heard)))
    log.append(*map(change_record, follower.finish(recording.seconds or 0.0)))
    marks = on_one_clock(_lives(run, RATE), RATE)
    clock = AudioClock(RATE, marks) if marks else None
    return close_run(path, log, dated(facts, clock), listener, follower)


@dataclass(frozen=True, slots=True)
class BrokenOff:
    """A run that recording can go on with.

    begun: what it was begun with. audio: what is on the disk of it. lives: its clocks between two
    interruptions, in samples of the audio.
    """

    path: Path
    begun: Begun
    audio: Recovered
    lives: tuple[tuple[ClockMark, ...], ...]

    @property
    def last(self) -> ClockMark | None:
        marks = on_one_clock(self.lives, self.audio.rate)
        return marks[-1] if marks else None

    def due(self, wall_ns: int) -> int:
        """The index of the sample at a moment of the system's clock, as if nothing had happened."""
        missing = missing_until(self.last, self.audio.longest, wall_ns, self.audio.rate)
        return self.audio.longest + (missing or 0)


def find_broken_off(path: Path) -> BrokenOff:
    """InputError where no run was broken off, or one that has only to be finished."""
    path = path.absolute()
    begun = read_begun(path)
    run = read_live(path / CHAINED)
    if run.is_closed:
        raise InputError(f"{path}: this run was finished; record a new one")
    if run.header is None or channel_files(path / AUDIO, ".flac"):
        raise InputError(f"{path}: no audio can be added to it; use voxlog resume without --record")
    audio = recover(path / AUDIO)
    return BrokenOff(path, begun, audio, _lives(run, audio.rate))


@dataclass(frozen=True, slots=True)
class TakenUp:
    """A run whose audio is coming in again, with all that was heard of it before."""

    recorder: Recorder
    facts: RunFacts
    listener: Listener
    follower: LiveFollower

    def run(
        self,
        display: AbstractContextManager[Display],
        stop: threading.Event,
        sound: Sound | None = None,
    ) -> LiveResult:
        """Record until the source ends or `stop` is set, then finish the run folder."""
        return self.recorder.run(self.facts, self.listener, self.follower, display, stop, sound)


def take_up(
    broken: BrokenOff,
    source: Source,
    load: Load,
    progress: Progress,
    *,
    patient: bool = False,
) -> TakenUp:
    """Begin to record again a run that was broken off; the time in between is a gap.

    Audio is kept from the start; the model is loaded, and what was heard before is called to mind,
    while it comes in. Raises InputError for a source of other channels or another rate.
    """
    if source.channels != len(broken.audio.paths):
        raise InputError(
            f"{source.name}: {source.channels} channels, and the run has "
            f"{len(broken.audio.paths)}; use the device of before, {broken.begun.source}"
        )
    begun = broken.begun
    recorder, run = _recording_again(broken, source, patient=patient)
    try:
        listener = load(broken.path / "sheet.yaml", begun.model).with_voices(begun.positions)
        heard = _heard_before(broken, listener, _spoken(run), progress)
        follower = _follower_of(run, listener, begun)
        recorder.log.append(*map(change_record, follower.push(*heard)))
        follower.take_questions()  # they were answered, or nobody waits for it any more
    except BaseException:
        recorder.end()
        raise
    facts = facts_of(listener, begun.positions, begun.source, begun.start, begun.people)
    return TakenUp(recorder, facts, listener, follower)


def _recording_again(
    broken: BrokenOff, source: Source, *, patient: bool
) -> tuple[Recorder, LiveRun]:
    """Everything that audio needs, and the audio coming in."""
    rate, held = source.rate, broken.audio.longest
    journal = Journal(broken.path / AUDIO, source.channels, rate, goes_on=True)
    log, run = LiveLog.take_up(broken.path / CHAINED, None, held * RATE // rate)
    notes = Notes(log.append)

    def tell(missing: int | None) -> None:
        unknown = "" if missing is not None else "; for how long is not known"
        text = f"recording was interrupted{unknown}"
        notes.put(gap_record(held * RATE // rate, (missing or 0) * RATE // rate, text))

    going_on = GoingOn(source, broken.last, held, tell)
    intake = Intake(going_on, journal, notes.put, patient=patient, before=broken.lives)
    intake.start()
    return Recorder(broken.path, log, journal, notes, intake), run


def _heard_before(
    broken: BrokenOff, listener: Listener, spoken: Sequence[tuple[int, int]], progress: Progress
) -> list[Utterance]:
    """What was heard before the interruption; the last of it, or all if need be, heard again."""
    known = read_heard(broken.path / HEARD, listener.phrases)
    seconds = broken.audio.samples / broken.audio.rate
    speech = (
        (segment, audio)
        for segment, audio in _speech_from(broken.audio, max(0, known.until - LEARNING))
        if segment.bursts[0].start >= known.until and not is_own_voice(segment, spoken)
    )
    again = listen(
        listener.recognise, listener.answered, speech, partial(_tell_progress, progress, seconds)
    )
    return [*known.utterances, *again]


def _speech_from(audio: Recovered, first: int) -> Iterator[Speech]:
    """The speech in what is on the disk from a sample at 16 kHz on."""
    feed = Feed(len(audio.paths), audio.rate)
    segmenter = Segmenter(len(audio.paths), first=first)
    place = first * audio.rate // RATE
    for samples in audio.blocks(place):
        for part in feed.push(Block(samples, place, 0, 0)):
            yield from segmenter.push(part)
    yield from segmenter.push(feed.finish())
    yield from segmenter.finish()


def _follower_of(run: LiveRun, listener: Listener, begun: Begun) -> LiveFollower:
    """With the rows that the log has."""
    return LiveFollower(
        listener.sheet,
        listener.phrases,
        begun.positions,
        rows=[NumberedRow(number, event) for number, event in run.rows().items()],
        first=run.first_rows(),
        next_number=run.next_number,
    )


def _spoken(run: LiveRun) -> list[tuple[int, int]]:
    """When the tool itself spoke, in samples at 16 kHz."""
    return [
        (record["start_sample"], record["end_sample"])
        for record in run.records
        if record.get("record") == "spoken"
    ]


def _lives(run: LiveRun, rate: int) -> tuple[tuple[ClockMark, ...], ...]:
    """The clocks that a log holds, parted where it was taken up; at so many samples a second."""
    lives: list[list[ClockMark]] = [[]]
    for record in run.records:
        if record.get("record") == "taken-up":
            lives.append([])
        elif record.get("record") == "clock":
            sample = record["sample"] * rate // RATE
            clocks = (record["monotonic_us"] * 1000, record["wall_us"] * 1000)
            lives[-1].append(ClockMark(sample, *clocks))
    return tuple(map(tuple, lives))


def _tell_progress(progress: Progress, seconds: float | None, at: float) -> None:
    progress(at, seconds)
