"""`python -m tests.bench human-speech`: real voices, through voxlog's own segmenting and hearing.

The clips are those of the pocketsphinx source package (`python -m tests.fetch`), with the
transcripts that stand beside them: playing cards, a command to a robot, and five sentences of a
LibriVox reading of "Sense and Sensibility". None has a chamber's phrases; those are measured on
synthetic speech only.

Words: free transcription against the transcript, word error rate by jiwer. Both are normalised in
the same way: voxlog's own normaliser, numbers in figures, "mister" as the transcriber writes it.

Phrases: 52 cards and six commands are listed, and the best is what voxlog chose; evidence above 0
says that it was said, and not something that is not listed.
"""

import argparse
import re
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import product
from pathlib import Path
from typing import NamedTuple

import jiwer
import numpy as np
import soundfile
from rich import box
from rich.console import Console
from rich.table import Table

from tests.bench.runs import CACHE, MODEL
from tests.fetch import clip
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import segments
from voxlog.numbers.normalise import normalise
from voxlog.numbers.parse import find_values
from voxlog.sheet.phrases import Phrase
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model
from voxlog.speech.recognise import Recogniser
from voxlog.speech.utterance import Heard, Utterance

__all__ = ["CLIPS", "Clip", "add_options", "best_heard", "listen", "main", "new_recogniser"]

RANKS = (
    *("ace", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
    *("jack", "queen", "king"),
)
SUITS = ("clubs", "diamonds", "hearts", "spades")
COMMANDS = (
    *("go forward ten meters", "go backward ten meters", "go forward two meters"),
    *("turn left", "turn right", "stop the motor"),
)
PHRASES = tuple(
    Phrase(text, "challenge")
    for text in (*(f"{rank} of {suit}" for rank, suit in product(RANKS, SUITS)), *COMMANDS)
)
_READING = "librivox/sense_and_sensibility_01_austen_64kb-{}"


class Clip(NamedTuple):
    """A clip's name, what is said in it, and which listed phrases that is."""

    name: str
    said: str
    phrases: tuple[str, ...] = ()


CLIPS = (
    Clip("cards/001.wav", "ten of clubs", ("ten of clubs",)),
    Clip("cards/002.wav", "four queen of clubs", ("queen of clubs",)),
    Clip("cards/003.wav", "seven of clubs", ("seven of clubs",)),
    Clip("cards/004.wav", "five five"),
    Clip(
        "cards/005.wav",
        "eight of spades four of clubs seven of hearts",
        ("eight of spades", "four of clubs", "seven of hearts"),
    ),
    Clip("goforward.raw", "go forward ten meters", ("go forward ten meters",)),
)
READ_ALOUD = tuple(f"{_READING.format(n)}.wav" for n in ("0870", "0880", "0890", "0920", "0930"))


def transcript_of(name: str) -> str:
    """The transcript of a reading, from the text beside it."""
    return clip(name).with_suffix(".txt").read_text(encoding="utf-8").strip()


def new_recogniser(cache: Path = CACHE) -> Recogniser:
    """A recogniser that listens for the cards and the commands."""
    return Recogniser(SpeechModel(find_model(MODEL, cache), 1), PHRASES, cache)


def listen(recogniser: Recogniser, name: str) -> list[tuple[Utterance, ...]]:
    """For each segment of a clip its utterances."""
    with _as_recording(clip(name)) as path:
        return [
            recogniser.utterances(segment, audio)
            for segment, audio in segments(open_recording((path,)))
        ]


def best_heard(utterances: Iterable[Utterance]) -> list[Heard]:
    """The best phrase of each utterance."""
    return [one.heard[0] for one in utterances if one.heard]


def in_figures(text: str) -> str:
    """Normalised, numbers in figures: "Ten of clubs." and "10 of clubs" are the same."""
    words = re.sub(r"\bmister\b", "mr", normalise(text)).split()
    for found in reversed(find_values(" ".join(words))):
        words[found.first_word : found.last_word + 1] = [f"{found.value:g}"]
    return " ".join(words)


@contextmanager
def _as_recording(path: Path) -> Iterator[Path]:
    """A clip as a file that says its own format; the raw ones are 16 kHz, 16 bit, little-endian."""
    if path.suffix != ".raw":
        yield path
        return
    with tempfile.TemporaryDirectory() as folder:
        named = Path(folder) / f"{path.stem}.wav"
        soundfile.write(named, np.fromfile(path, "<i2"), 16_000, subtype="PCM_16")
        yield named


def add_options(parser: argparse.ArgumentParser) -> None:
    """There are none."""


def main(options: argparse.Namespace) -> None:
    """Listen to every clip once, and print both tables."""
    recogniser = new_recogniser()
    names = (*(each.name for each in CLIPS), *READ_ALOUD)
    heard = {name: listen(recogniser, name) for name in names}
    said = {each.name: each.said for each in CLIPS} | {n: transcript_of(n) for n in READ_ALOUD}
    console = Console(width=120, highlight=False)
    console.print(_words_table(said, heard))
    console.print(_phrases_table(heard))


def text_of(utterances: Sequence[tuple[Utterance, ...]]) -> str:
    """The free transcription; the utterances of one segment share its text."""
    return " ".join(parts[0].text for parts in utterances)


def _words_table(said: dict[str, str], heard: dict[str, list[tuple[Utterance, ...]]]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, title=f"Free transcription, {MODEL}, real voices")
    for name in ("Clip", "Heard", "Words", "Errors", "Word error rate"):
        table.add_column(name, justify="left" if name in ("Clip", "Heard") else "right")
    listed = [each.name for each in CLIPS]
    for name, words in said.items():
        text = text_of(heard[name])
        table.add_row(name.rsplit("_", 1)[-1], text, *_error_cells([words], [text]))
    for title, names in (
        ("all cards and commands", listed),
        ("all read aloud", [*READ_ALOUD]),
        ("all", [*said]),
    ):
        table.add_section()
        texts = [text_of(heard[name]) for name in names]
        table.add_row(title, "", *_error_cells([said[name] for name in names], texts))
    return table


def _error_cells(said: list[str], heard: list[str]) -> list[str]:
    output = jiwer.process_words([in_figures(s) for s in said], [in_figures(h) for h in heard])
    errors = output.substitutions + output.deletions + output.insertions
    words = output.hits + output.substitutions + output.deletions
    return [f"{words}", f"{errors}", f"{output.wer:.3f}"]


def _phrases_table(heard: dict[str, list[tuple[Utterance, ...]]]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, title=f"Choice among {len(PHRASES)} listed phrases")
    for name in ("Clip", "Said", "Chosen", "Evidence", "Next best", "Right"):
        table.add_column(name, justify="right" if name == "Evidence" else "left")
    said = [*CLIPS, *(Clip(name, transcript_of(name)) for name in READ_ALOUD)]
    for each in said:
        utterances = [one for parts in heard[each.name] for one in parts]
        best = best_heard(utterances)
        accepted = tuple(one.sayable.text for one in best if one.evidence > 0)
        table.add_row(
            each.name.rsplit("_", 1)[-1],
            each.said if len(each.said) < 48 else f"{each.said[:45]}...",
            ", ".join(one.sayable.text for one in best) or "nothing",
            ", ".join(f"{one.evidence:+.2f}" for one in best),
            ", ".join(_next_best(one) for one in utterances),
            "yes" if accepted == each.phrases else "no",
        )
    return table


def _next_best(utterance: Utterance) -> str:
    return f"{utterance.heard[1].evidence:+.2f}" if len(utterance.heard) > 1 else "-"
