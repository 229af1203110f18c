"""A run sheet with the recogniser that listens for it."""

from dataclasses import dataclass
from pathlib import Path

from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import Phrase, sheet_phrases
from voxlog.speech.listen import Recognise
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import ModelFiles, find_model
from voxlog.speech.recognise import Recogniser

__all__ = ["Listener"]

LIVE_THREADS = 2


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
