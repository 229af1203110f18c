"""A run sheet as a JSGF grammar, for a recogniser that hears only what a grammar allows. Pure.

The texts are those that voxlog itself listens for: each phrase, with every value that can be said
in its place and the usual wordings of it. They are merged where they begin alike, which leaves a
quarter of their words.

One line is one phrase. Phrases in a row (`<said>+`) were tried on the beginning of run-a: a third
as fast where it is quiet, a twentieth under noise, and where people breathe it heard short words
("eight", "a", "in").

JSGF: JSpeech Grammar Format, W3C Note of 5 June 2000.
"""

from collections.abc import Iterable, Sequence

from voxlog.sheet.phrases import Phrase
from voxlog.speech.vocabulary import sayables

__all__ = ["grammar_words", "sheet_grammar"]


class _Branch(dict[str, "_Branch"]):
    """Words that may come next. may_end: whether a text may be over here."""

    may_end = False


def sheet_grammar(phrases: Sequence[Phrase]) -> str:
    """The grammar as text; its one public rule is `<said>`."""
    tree = _Branch()
    for text in _texts(phrases):
        at = tree
        for word in text.split():
            at = at.setdefault(word, _Branch())
        at.may_end = True
    return f"#JSGF V1.0;\ngrammar sheet;\npublic <said> = {_alternatives(tree)};\n"


def grammar_words(phrases: Sequence[Phrase]) -> list[str]:
    """Every word of it once, in the order of the alphabet."""
    return sorted({word for text in _texts(phrases) for word in text.split()})


def _texts(phrases: Sequence[Phrase]) -> Iterable[str]:
    return dict.fromkeys(sayable.text for sayable in sayables(phrases))


def _alternatives(branch: _Branch) -> str:
    return " | ".join(_word(word, after) for word, after in branch.items())


def _word(word: str, after: _Branch) -> str:
    if not after:
        return word
    rest = _alternatives(after)
    return f"{word} [{rest}]" if after.may_end else f"{word} ({rest})"
