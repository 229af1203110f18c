"""The table of contents: how a recording becomes a run folder.

Nothing here decides anything; each line is a stage of its own folder.
"""

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from voxlog.audio import RATE
from voxlog.audio.check import AudioCheck
from voxlog.audio.recording import Recording, open_recording
from voxlog.audio.segment import Segment
from voxlog.audio.segmenting import segments
from voxlog.audio.store import AudioStore
from voxlog.follow.event import Event
from voxlog.follow.follower import follow
from voxlog.log.digest import file_sha256
from voxlog.log.folder import AudioFile, RunFacts, RunFolder
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import sheet_phrases
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model
from voxlog.speech.recognise import Recogniser
from voxlog.speech.record import utterance_record
from voxlog.speech.rejoin import Listened, rejoined
from voxlog.speech.utterance import Utterance

__all__ = ["LogRequest", "RunResult", "listen", "log_recording"]

Floats = NDArray[np.float32]
Speech = tuple[Segment, Floats]

WAITING_PER_THREAD = 4
"""Segments that wait for a free thread: enough to keep it busy, few enough to hold in memory."""


@dataclass(frozen=True, slots=True)
class LogRequest:
    """What the user asked for.

    audio: files; their channels are counted through all of them. sheet: run sheet. out: run folder
    to make. model: name or folder of the speech model. start: moment of the first sample, None
    for what the file says. positions: 0-based channel to position. cache: folder that may be lost.
    """

    audio: tuple[Path, ...]
    sheet: Path
    out: Path
    model: str
    cache: Path
    start: datetime | None = None
    positions: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RunResult:
    """What came of it. seconds: length of the recording."""

    sheet: Sheet
    events: tuple[Event, ...]
    warnings: tuple[str, ...]
    seconds: float


def log_recording(
    request: LogRequest, progress: Callable[[float, float | None], None]
) -> RunResult:
    """Make the run folder of a recording.

    progress: called with the seconds done and the seconds there are, if that is known. Raises
    InputError for bad input; then no run folder is left.
    """
    sheet = load_sheet(request.sheet)
    phrases = sheet_phrases(sheet)
    recording = open_recording(request.audio)
    check = AudioCheck()
    with RunFolder.create(request.out) as folder:
        model = SpeechModel(find_model(request.model, request.cache), _threads())
        recogniser = Recogniser(model, phrases, request.cache)
        store = AudioStore(folder.partial / "audio", recording.channels)
        with store:
            speech = segments(recording, check=check, store=store)
            utterances = list(
                listen(recogniser, speech, lambda at: progress(at, recording.seconds))
            )
        utterances.sort(key=lambda one: (one.start, one.channel))
        seconds = store.channels[0].samples / RATE
        events = follow(utterances, sheet, phrases, seconds, request.positions)
        warnings = (*recording.warnings, *check.warnings())
        facts = _facts(request, sheet, recording, model, store, warnings)
        folder.save(facts, (utterance_record(one, phrases) for one in utterances), events)
    return RunResult(sheet, tuple(events), warnings, seconds)


def listen(
    recogniser: Recogniser, speech: Iterable[Speech], at: Callable[[float], None]
) -> Iterator[Utterance]:
    """Recognise segments on all cores; utterances in the order of their segments a channel.

    at: called with the end of each segment in seconds as it is done. Each thread keeps one core
    busy: the arithmetic libraries are told not to start threads of their own.
    """
    with threadpool_limits(1):
        for listened in rejoined(_listened(recogniser, speech, at), recogniser.utterances):
            yield from listened.utterances


def _listened(
    recogniser: Recogniser, speech: Iterable[Speech], at: Callable[[float], None]
) -> Iterator[Listened]:
    threads = _threads()
    with ThreadPoolExecutor(threads) as pool:
        waiting: deque[tuple[Segment, Floats, Future[tuple[Utterance, ...]]]] = deque()
        for segment, audio in speech:
            waiting.append((segment, audio, pool.submit(recogniser.utterances, segment, audio)))
            if len(waiting) > WAITING_PER_THREAD * threads:
                yield _next(waiting, at)
        while waiting:
            yield _next(waiting, at)


def _next(
    waiting: deque[tuple[Segment, Floats, Future[tuple[Utterance, ...]]]],
    at: Callable[[float], None],
) -> Listened:
    segment, audio, future = waiting.popleft()
    found = future.result()
    at(segment.end / RATE)
    return Listened(segment, audio, found)


def _threads() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _facts(
    request: LogRequest,
    sheet: Sheet,
    recording: Recording,
    model: SpeechModel,
    store: AudioStore,
    warnings: tuple[str, ...],
) -> RunFacts:
    start = request.start or recording.start
    source = "option" if request.start else "bext" if recording.start else ""
    return RunFacts(
        sheet_id=sheet.id,
        sheet_title=sheet.title,
        sheet_yaml=request.sheet.read_bytes(),
        model=model.files.name,
        model_sha256=model.files.sha256,
        audio=tuple(
            AudioFile(request.out / "audio" / kept.path.name, kept.sha256, RATE, 1, kept.samples)
            for kept in store.channels
        ),
        versions={name: version(name) for name in ("voxlog", "faster-whisper", "ctranslate2")},
        start=start,
        start_source=source,
        settings={
            "audio": [{"file": path.name, "sha256": file_sha256(path)} for path in request.audio],
            "positions": {str(n + 1): name for n, name in sorted(request.positions.items())},
        },
        warnings=warnings,
    )
