"""What Whisper can be told of a sheet beforehand: words to expect, and a text to go on from. Pure.

Whisper has 448 tokens for hints and answer together, and faster-whisper cuts each hint at 223. With
these lengths both hints leave it half of them, as many as half a minute of quick speech takes.
"""

from collections.abc import Sequence

from voxlog.numbers.vocabulary import DIGITS, TEENS, TENS
from voxlog.sheet.phrases import Phrase

__all__ = ["HOT_WORDS", "PROMPT_WORDS", "hot_words", "prompt"]

HOT_WORDS = 100
PROMPT_WORDS = 80
SHORT = 3
"""Words of so many letters are known to Whisper anyway."""
NUMBERS = {*DIGITS, *TEENS, *TENS, "hundred", "thousand"}


def hot_words(phrases: Sequence[Phrase]) -> str:
    """The sheet's words, those of the challenges first: no numbers, no short ones, each once."""
    texts = sorted(phrases, key=lambda phrase: phrase.act != "challenge")
    words = dict.fromkeys(word for phrase in texts for word in phrase.text.split())
    chosen = [word for word in words if _is_wanted(word)]
    return " ".join(chosen[:HOT_WORDS])


def prompt(phrases: Sequence[Phrase]) -> str:
    """The challenges as sentences, in the sheet's order, as many as there is room for."""
    sentences: list[str] = []
    room = PROMPT_WORDS
    for phrase in phrases:
        room -= len(phrase.text.split()) if phrase.act == "challenge" else 0
        if room < 0:
            break
        if phrase.act == "challenge":
            sentences.append(f"{phrase.text.capitalize()}.")
    return " ".join(sentences)


def _is_wanted(word: str) -> bool:
    return len(word) > SHORT and word not in NUMBERS and "{" not in word
