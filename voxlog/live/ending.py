"""What every run begins and ends with, whoever recorded it: its facts, its folder, its result."""

import os
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

import soundfile

from voxlog.audio import RATE
from voxlog.capture.clock import AudioClock
from voxlog.capture.finish import finish
from voxlog.follow.event import Event
from voxlog.live.follower import LiveFollower
from voxlog.live.heard import HEARD
from voxlog.live.listener import Listener
from voxlog.live.provisional import Difference
from voxlog.live.session import Latency, rows_of
from voxlog.log.folder import AudioFile, RunFacts
from voxlog.log.live_folder import finish_folder
from voxlog.log.live_log import LiveLog, note_record
from voxlog.log.people import People, people_settings
from voxlog.sheet.model import Sheet
from voxlog.speech.record import utterance_record

__all__ = [
    "AUDIO",
    "LiveResult",
    "close_run",
    "dated",
    "difference_in_words",
    "facts_of",
]

AUDIO = "audio"


@dataclass(frozen=True, slots=True)
class LiveResult:
    """What came of it. seconds: length of the recording. difference: provisional against final."""

    sheet: Sheet
    events: tuple[Event, ...]
    seconds: float
    difference: Difference
    latencies: tuple[Latency, ...] = field(default=(), repr=False)


def difference_in_words(difference: Difference) -> str:
    """How what was reported while the run went compares with the final pass."""
    return (
        f"of the rows reported during the run {difference.stood} stood, "
        f"{difference.corrected} were corrected, {difference.withdrawn} withdrawn; "
        f"{difference.only_at_end} came only at the end"
    )


def facts_of(
    listener: Listener,
    positions: Mapping[int, str],
    source: str,
    start: datetime | None,
    people: People,
) -> RunFacts:
    """What is known of a run while it goes."""
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
            **people_settings(people),
        },
    )


def dated(facts: RunFacts, clock: AudioClock | None) -> RunFacts:
    """With the start and the drift that the run's clocks give."""
    if clock is None:
        return facts
    return replace(facts, start=clock.utc_of(0), drift_ppb=round(clock.drift_ppm * 1000))


def close_run(
    path: Path,
    log: LiveLog,
    facts: RunFacts,
    listener: Listener,
    follower: LiveFollower,
    *,
    warnings: tuple[str, ...] = (),
    latencies: tuple[Latency, ...] = (),
) -> LiveResult:
    """Make the recording whole and close the log."""
    stored = finish(path / AUDIO)
    rates = [soundfile.info(os.fsencode(channel.path)).samplerate for channel in stored]
    audio = tuple(
        AudioFile(channel.path, channel.sha256, rate, 1, channel.samples)
        for channel, rate in zip(stored, rates, strict=True)
    )
    end = round(stored[0].samples / rates[0] * RATE)
    difference = follower.difference()
    log.append(note_record("difference", end, difference_in_words(difference)))
    facts = replace(facts, audio=audio, warnings=warnings)
    heard = (utterance_record(one, listener.phrases) for one in follower.utterances)
    rows = rows_of(follower)
    finish_folder(path, log, facts, heard, rows)
    (path / HEARD).unlink(missing_ok=True)
    events = tuple(event for _, event in rows)
    seconds = stored[0].samples / rates[0]
    return LiveResult(listener.sheet, events, seconds, difference, latencies)
