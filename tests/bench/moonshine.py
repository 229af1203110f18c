"""Moonshine's ears: the `tiny` English model that came inside the package's wheels up to 0.1.0.

Lines are those of its own voice activity detector, over the recording as it is. They have times and
their words have none (that takes a model which the wheel lacks), so a line's time is shared out by
letters.
"""

from collections.abc import Iterator
from pathlib import Path

import soundfile

from tests.bench.transcript import Line, Word, cut_into_lines
from voxlog.sheet.model import Sheet

__all__ = ["hear_with_moonshine", "spread"]


def hear_with_moonshine(audio: Path, sheet: Sheet) -> list[Line]:
    """Free transcription; the sheet is not looked at."""
    from moonshine_voice import ModelArch, Transcriber
    from moonshine_voice.utils import get_model_path

    transcriber = Transcriber(str(get_model_path("tiny-en")), ModelArch.TINY)
    samples, rate = soundfile.read(audio, dtype="float32")
    heard = transcriber.transcribe_without_streaming(samples.tolist(), rate).lines
    return [
        line
        for one in heard
        for line in cut_into_lines(spread(one.text, one.start_time, one.duration))
    ]


def spread(text: str, start: float, seconds: float) -> Iterator[Word]:
    """A line's words, each with its share of the line's time by its letters."""
    letters = sum(map(len, text.split()))
    for word in text.split():
        end = start + seconds * len(word) / letters
        yield Word(start, end, word)
        start = end
