"""pocketsphinx's ears: acoustic model, dictionary and language model of its own, all in its wheel.

Either with a grammar made from the sheet, or with its open language model of general English.

It hears voxlog's segments, less the steady noise, and not those of its own endpointer. On the first
150 s of run-a that one begins half a word late even where it is quiet; at 10 dB it finds 71 s of
the 84 s of speech in its loosest mode and 45 s in the middle one. What is compared is the
recogniser.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.grammar import grammar_words, sheet_grammar
from tests.bench.transcript import Line, Word, cut_into_lines
from voxlog.audio import RATE
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import segments
from voxlog.errors import InputError
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import sheet_phrases

__all__ = ["grammar_decoder", "hear_with_grammar", "hear_with_language_model"]

ADDED = {
    "eardrums": "IH R D R AH M Z",
    "jewellery": "JH UW AH L R IY",
    "litres": "L IY T ER Z",
    "pre-breathe": "P R IY B R IY DH",
    "wilco": "W IH L K OW",
}
"""Words of the sheets that CMUdict lacks, in its own phonemes; how they sound is from memory."""
FRAMES_A_SECOND = 100


def hear_with_grammar(audio: Path, sheet: Sheet) -> list[Line]:
    """For each segment the phrase of the sheet that fits best; nothing where none does."""
    return list(_lines(grammar_decoder(sheet), audio))


def grammar_decoder(sheet: Sheet) -> Any:
    """A decoder that hears the sheet's phrases; InputError for a word that it cannot pronounce."""
    from pocketsphinx import Decoder

    phrases = sheet_phrases(sheet)
    decoder = Decoder(lm=None, loglevel="FATAL")
    for word in grammar_words(phrases):
        if decoder.lookup_word(word) is None:
            if word not in ADDED:
                raise InputError(
                    f"{word}: not in CMUdict; add how it sounds to tests/bench/sphinx.py"
                )
            decoder.add_word(word, ADDED[word])
    decoder.add_jsgf_string("sheet", sheet_grammar(phrases))
    decoder.activate_search("sheet")
    return decoder


def hear_with_language_model(audio: Path, sheet: Sheet) -> list[Line]:
    """Free transcription; the sheet is not looked at."""
    from pocketsphinx import Decoder

    return list(_lines(Decoder(loglevel="FATAL"), audio))


def _lines(decoder: Any, audio: Path) -> Iterator[Line]:
    for segment, samples in segments(open_recording((audio,))):
        pcm = (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()
        decoder.start_utt()
        decoder.process_raw(pcm, full_utt=True)
        decoder.end_utt()
        if decoder.hyp():
            yield from cut_into_lines(_words(decoder, segment.start / RATE))


def _words(decoder: Any, start: float) -> Iterator[Word]:
    """Silence and sounds are written as <sil> and [NOISE], a second pronunciation as two(2)."""
    for part in decoder.seg():
        if not part.word.startswith(("<", "[")):
            first, last = part.start_frame, part.end_frame + 1
            yield Word(
                start + first / FRAMES_A_SECOND,
                start + last / FRAMES_A_SECOND,
                part.word.partition("(")[0],
            )
