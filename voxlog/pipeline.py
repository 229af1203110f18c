"""The table of contents: how a recording becomes a run folder.

Nothing here decides anything; each line is a stage of its own folder.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

from voxlog.audio import RATE
from voxlog.audio.check import AudioCheck
from voxlog.audio.recording import Recording, open_recording
from voxlog.audio.segmenting import segments
from voxlog.audio.store import AudioStore
from voxlog.follow.event import Event
from voxlog.follow.query import follow_run
from voxlog.log.digest import file_sha256
from voxlog.log.folder import AudioFile, RunFacts, RunFolder
from voxlog.log.people import People, people_settings
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import sheet_phrases
from voxlog.speaker.attach import attempts_with_voices, last_attempt
from voxlog.speech.listen import listen, thread_count
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model
from voxlog.speech.recognise import Recogniser
from voxlog.speech.record import utterance_record

__all__ = ["LogRequest", "RunResult", "log_recording"]


@dataclass(frozen=True, slots=True)
class LogRequest:
    """What the user asked for.

    audio: files; their channels are counted through all of them. sheet: run sheet. out: run folder
    to make. model: name or folder of the speech model. start: moment of the first sample, None
    for what the file says. positions: 0-based channel to position. people: codes of who is in the
    run. cache: folder that may be lost.
    """

    audio: tuple[Path, ...]
    sheet: Path
    out: Path
    model: str
    cache: Path
    start: datetime | None = None
    positions: Mapping[int, str] = field(default_factory=dict)
    people: People = field(default_factory=People)


@dataclass(frozen=True, slots=True)
class RunResult:
    """What came of it. seconds: length of the recording."""

    sheet: Sheet
    events: tuple[Event, ...]
    warnings: tuple[str, ...]
    seconds: float


def log_recording(
    request: LogRequest,
    progress: Callable[[float, float | None], None],
    model: SpeechModel | None = None,
) -> RunResult:
    """Make the run folder of a recording.

    progress: called with the seconds done and the seconds there are, if that is known. model: the
    request's, where it is loaded already. Raises InputError for bad input; then no run folder is
    left.
    """
    sheet = load_sheet(request.sheet)
    phrases = sheet_phrases(sheet)
    recording = open_recording(request.audio)
    check = AudioCheck()
    with RunFolder.create(request.out) as folder:
        if model is None:
            model = SpeechModel(find_model(request.model, request.cache), thread_count())
        recogniser = Recogniser(model, phrases, request.cache)
        store = AudioStore(folder.partial / "audio", recording.channels)
        with store:
            speech = segments(recording, check=check, store=store)
            listened = listen(
                last_attempt(attempts_with_voices(recogniser.attempts, request.positions)),
                recogniser.with_answers,
                speech,
                lambda at: progress(at, recording.seconds),
                model.threads,
            )
            utterances = list(listened)
        utterances.sort(key=lambda one: (one.start, one.channel))
        seconds = store.channels[0].samples / RATE
        events = follow_run(utterances, sheet, phrases, seconds, request.positions)
        warnings = (*recording.warnings, *check.warnings())
        facts = _facts(request, sheet, recording, model, store, warnings)
        folder.save(facts, (utterance_record(one, phrases) for one in utterances), events)
    return RunResult(sheet, tuple(events), warnings, seconds)


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
            **people_settings(request.people),
        },
        warnings=warnings,
    )
