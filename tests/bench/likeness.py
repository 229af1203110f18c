"""The obvious pipeline's measure: how like a transcribed line is to a phrase of the sheet.

rapidfuzz's WRatio on normalised text with numbers in figures on both sides, so that Whisper's
"climb to 8,000" meets the sheet's "climb to eight thousand". WRatio takes a short text inside a
long one for a match at 90. That finds two phrases run together, and is wanted; but it also finds
"the" in "hold the run" and "now" in "back now", so lines shorter than the phrase, and phrases of a
single word, are compared whole.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from rapidfuzz import fuzz

from tests.bench.transcript import Line
from voxlog.numbers.normalise import normalise
from voxlog.numbers.parse import find_values, readings
from voxlog.sheet.phrases import Phrase, Slot

__all__ = ["Likeness", "Token", "likeness", "text_of", "tokens_of", "values_in"]

STEP_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Token:
    """A word, or all the words of one number.

    text: normalised, a number in figures. said: the words as transcribed. start, end: seconds.
    """

    text: str
    said: str
    start: float
    end: float
    is_number: bool


class Likeness(NamedTuple):
    """score: 0 to 100. first, end: the tokens that the phrase covers. value: of its slot."""

    score: float
    first: int
    end: int
    value: float | None = None


def tokens_of(line: Line) -> list[Token]:
    """A line's words with their times."""
    plain = [
        Token(text, text, word.start, word.end, is_number=False)
        for word in line.words
        for text in normalise(word.text).split()
    ]
    return list(_with_figures(plain))


def _with_figures(tokens: Sequence[Token]) -> Iterable[Token]:
    at = 0
    for found in find_values(" ".join(token.text for token in tokens)):
        yield from tokens[at : found.first_word]
        part = tokens[found.first_word : found.last_word + 1]
        figures = f"{found.value:g}"
        yield Token(figures, found.text, part[0].start, part[-1].end, is_number=True)
        at = found.last_word + 1
    yield from tokens[at:]


@lru_cache(maxsize=4096)
def _in_figures(text: str) -> str:
    words = normalise(text).split()
    return text_of(list(_with_figures([Token(w, w, 0, 0, is_number=False) for w in words])))


def text_of(tokens: Iterable[Token]) -> str:
    return " ".join(token.text for token in tokens)


def likeness(phrase: Phrase, tokens: Sequence[Token]) -> Likeness:
    """How like a line, or a part of one, is to a phrase."""
    if phrase.slot is None:
        return _compare(_in_figures(phrase.text), tokens, within=" " in phrase.text)
    return _compare_with_value(phrase, phrase.slot, tokens)


def _compare(text: str, tokens: Sequence[Token], *, within: bool) -> Likeness:
    """within: whether the text may be a part of the line."""
    line = text_of(tokens)
    if not within or len(line) <= len(text):
        return Likeness(fuzz.ratio(text, line), 0, len(tokens))
    place = fuzz.partial_ratio_alignment(text, line)
    first, end = (0, len(line)) if place is None else (place.dest_start, place.dest_end)
    covered = line[:first].count(" "), line[: max(end - 1, 0)].count(" ") + 1
    return Likeness(fuzz.WRatio(text, line), *covered)


def _compare_with_value(phrase: Phrase, slot: Slot, tokens: Sequence[Token]) -> Likeness:
    """The words around the number are compared; the number must be one that can be said there."""
    places = [n for n, token in enumerate(tokens) if values_in(token, slot)]
    words = [n for n, token in enumerate(tokens) if not token.is_number]
    carrier = normalise(phrase.text.replace("{value}", "").replace("{item}", ""))
    if not places or bool(carrier) != bool(words):
        return Likeness(0, 0, 0)
    if not carrier:
        value = values_in(tokens[places[0]], slot)[0]
        return Likeness(100 if len(tokens) == 1 else 0, 0, len(tokens), value)
    found = _compare(carrier, [tokens[n] for n in words], within=True)
    first, last = words[found.first], words[found.end - 1]
    place = min(places, key=lambda n: (n < first, abs(n - last)))
    value = values_in(tokens[place], slot)[0]
    return Likeness(found.score, min(first, place), max(last, place) + 1, value)


def values_in(token: Token, slot: Slot) -> list[float]:
    """What a number's words may mean in a slot, as far as it can be said there."""
    if not token.is_number:
        return []
    meant = readings(token.said, slot.quantity) or (float(token.text),)
    return [value for value in meant if _fits(value, slot)]


def _fits(value: float, slot: Slot) -> bool:
    steps = (value - slot.low) / slot.step
    return slot.low <= value <= slot.high and abs(steps - round(steps)) < STEP_TOLERANCE
