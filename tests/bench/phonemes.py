"""hama's ears: a phoneme recogniser (4.7 MB), then a model that spells phonemes as words.

Both are in the package's wheel. It takes one stretch of speech at a time, so it hears voxlog's
segments, as pocketsphinx does; words share a segment's time by their phonemes.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.bench.moonshine import spread
from tests.bench.transcript import Line, cut_into_lines
from voxlog.audio import RATE
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import segments
from voxlog.sheet.model import Sheet

__all__ = ["hear_with_phonemes"]


def hear_with_phonemes(audio: Path, sheet: Sheet) -> list[Line]:
    """Free transcription; the sheet is not looked at."""
    from hama import ASRModel, P2GModel

    return list(_lines(ASRModel(), P2GModel(), audio))


def _lines(recognise: Any, spell: Any, audio: Path) -> Iterator[Line]:
    for segment, samples in segments(open_recording((audio,))):
        phonemes = recognise(samples, RATE).word_phoneme_text
        if phonemes:
            text = spell(phonemes).text
            yield from cut_into_lines(spread(text, segment.start / RATE, len(samples) / RATE))
