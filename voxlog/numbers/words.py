"""A text as the number grammar sees it: its words, and one letter for each."""

from collections.abc import Sequence
from dataclasses import dataclass

from voxlog.numbers.normalise import normalise
from voxlog.numbers.run import Run, read_run
from voxlog.numbers.vocabulary import figure_of, kind_of

__all__ = ["Span", "Words", "words_of"]

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Words:
    """A text's words, and the grammar's letter for each of them."""

    words: Sequence[str]
    kinds: str

    def run(self, span: Span) -> Run | None:
        first, end = span
        return read_run(self.kinds[first:end], self.figures(span))

    def before(self, place: int) -> str:
        """The kind of the word before a place, "" at the start."""
        return self.kinds[place - 1 : place] if place else ""

    def figures(self, span: Span) -> list[str]:
        return [figure_of(word) for word in self.words[slice(*span)]]


def words_of(text: str) -> Words:
    words = normalise(text).split()
    return Words(words, "".join(map(kind_of, words)))
