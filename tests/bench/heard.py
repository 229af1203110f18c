"""What the recogniser hears in a recording, kept on disk until it or the recording changes."""

import hashlib
import pickle
from functools import cache
from pathlib import Path
from typing import NamedTuple

import soundfile

from tests.bench.runs import CACHE, ROOT, say
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import segments
from voxlog.cli.options import MODEL
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import sheet_phrases
from voxlog.speaker.attach import attempts_with_voices, last_attempt
from voxlog.speech.listen import listen, thread_count
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model
from voxlog.speech.recognise import Recogniser
from voxlog.speech.utterance import Utterance

__all__ = ["Heard", "hear"]

_HEARS = ("audio", "speech", "speaker", "numbers", "sheet")
"""Folders of the package whose change may change what is heard."""


class Heard(NamedTuple):
    """Utterances in time order, and the recording's length in seconds."""

    utterances: tuple[Utterance, ...]
    seconds: float


def hear(audio: Path, sheet: Sheet, kept: Path) -> Heard:
    """What `voxlog log` hears in a recording of one channel. kept: folder of what was heard."""
    key = hashlib.sha256(_version() + audio.read_bytes() + Path(sheet.file).read_bytes())
    place = kept / f"{key.hexdigest()[:32]}.pickle"
    if not place.is_file():
        say(f"{audio.parent.name}: listening")
        place.parent.mkdir(parents=True, exist_ok=True)
        part = place.with_suffix(".part")
        part.write_bytes(pickle.dumps(_listen(audio, sheet)))
        part.replace(place)
    found: Heard = pickle.loads(place.read_bytes())
    return found


def _listen(audio: Path, sheet: Sheet) -> Heard:
    recogniser = Recogniser(_model(), sheet_phrases(sheet), CACHE)
    attempts = last_attempt(attempts_with_voices(recogniser.attempts, {}))
    speech = segments(open_recording([audio]))
    heard = list(
        listen(attempts, recogniser.with_answers, speech, lambda at: None, _model().threads)
    )
    heard.sort(key=lambda one: (one.start, one.channel))
    return Heard(tuple(heard), soundfile.info(audio).duration)


@cache
def _model() -> SpeechModel:
    return SpeechModel(find_model(MODEL, CACHE), thread_count())


@cache
def _version() -> bytes:
    """A digest of all that listens."""
    found = hashlib.sha256()
    for folder in _HEARS:
        for path in sorted((ROOT / "voxlog" / folder).glob("*.*")):
            found.update(path.read_bytes())
    return found.digest()
