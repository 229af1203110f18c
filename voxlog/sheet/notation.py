"""How phrases are written: a small part of the JSpeech Grammar Format's notation.

W3C Note "JSpeech Grammar Format" (5 June 2000), section 4: a sequence of words, alternatives
``(one | other)``, optional parts ``[words]`` and references ``<name>``. The slots ``{value}`` and
``{item}`` are our own and stay in the text as they are. Weights, tags, the ``*`` and ``+``
operators, quoted tokens and recursion are left out on purpose: a run sheet lists what is said,
and a list must end.
"""

import re
from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter
from typing import Final, NamedTuple

__all__ = ["MAX_ALTERNATIVES", "NotationError", "expand", "expand_definitions"]

MAX_ALTERNATIVES: Final = 64
MAX_LENGTH: Final = 400
MAX_DEPTH: Final = 12

_TOKEN = re.compile(
    r"\s*(?:(?P<mark>[()\[\]|])|<(?P<name>[^<>\s]*)>|(?P<slot>\{[^{}\s]*\})"
    r"|(?P<word>[^\s()\[\]|<>{}]+)|(?P<stray>\S))"
)
# Letters of any language, with inner apostrophes and hyphens: "don't", "read-back".
_WORD = re.compile(r"[^\W\d_]+(?:['\u2019-][^\W\d_]+)*\Z")
_SLOTS = frozenset({"{value}", "{item}"})

Alternatives = tuple[str, ...]


class NotationError(ValueError):
    """A phrase that breaks the notation; the text says what, where in the phrase, and the cure."""


class _Token(NamedTuple):
    kind: str  # mark, name, slot, word
    text: str
    place: int  # of its first character in the phrase, from 1


def expand(phrase: str, definitions: Mapping[str, Alternatives] | None = None) -> Alternatives:
    """All the plain texts that `phrase` stands for, the fullest first, each once.

    definitions: name -> alternatives, for ``<name>``; see `expand_definitions`.
    Raises NotationError, also for a phrase that may be empty or that has more than
    MAX_ALTERNATIVES readings.

    >>> expand("mask [hose] (on | connected)")
    ('mask hose on', 'mask hose connected', 'mask on', 'mask connected')
    """
    texts = _Parser(_tokens(phrase), definitions or {}).parse()
    if "" in texts:
        raise NotationError("the phrase may be left empty; keep at least one word outside [ ]")
    return texts


def expand_definitions(
    definitions: Mapping[str, str],
) -> tuple[dict[str, Alternatives], dict[str, str]]:
    """Expand every definition; return the alternatives by name and the faults by name.

    A definition may use others and may be empty ("[psi]"). A faulty one still gets an entry (its
    own name as its only word), so that phrases using it do not each repeat its fault.
    """
    expanded: dict[str, Alternatives] = {}
    faults: dict[str, str] = {}
    for name in _dependency_order(definitions, faults):
        try:
            expanded[name] = _Parser(_tokens(definitions[name]), expanded).parse()
        except NotationError as error:
            faults.setdefault(name, str(error))
            expanded[name] = (name,)
    return expanded, faults


def _dependency_order(definitions: Mapping[str, str], faults: dict[str, str]) -> list[str]:
    """Names so that each comes after those it uses; names on a cycle are put into `faults`."""
    uses = {
        name: {m for m in re.findall(r"<([^<>\s]*)>", text) if m in definitions}
        for name, text in definitions.items()
    }
    while True:
        try:
            return list(TopologicalSorter(uses).static_order())
        except CycleError as error:
            # graphlib lists each node as used by the one before it, first and last the same.
            cycle = list(reversed(error.args[1]))
            path = " -> ".join(f"<{name}>" for name in cycle)
            first = min(cycle, key=list(definitions).index)
            faults[first] = f"definitions go round in a circle: {path}; write one of them out"
            uses[first] = set()


def _tokens(phrase: str) -> list[_Token]:
    if len(phrase) > MAX_LENGTH:
        raise NotationError(
            f"the phrase has {len(phrase)} characters; the longest allowed is {MAX_LENGTH}"
        )
    tokens = []
    for match in _TOKEN.finditer(phrase.rstrip()):
        kind = match.lastgroup or "stray"
        place = match.start(kind) + (0 if kind == "name" else 1)  # of the `<`, for a name
        tokens.append(_checked(_Token(kind, match.group(kind), place)))
    return tokens


def _checked(token: _Token) -> _Token:
    kind, text, place = token
    if kind == "stray":
        raise NotationError(f"`{text}` at character {place} has no partner; close it or remove it")
    if kind == "slot" and text not in _SLOTS:
        raise NotationError(
            f"unknown slot {text} at character {place}; the slots are {{value}} and {{item}}"
        )
    if kind == "word":
        return token._replace(text=_plain_word(text, place))
    return token


def _plain_word(text: str, place: int) -> str:
    if _WORD.match(text):
        return text.lower().replace("\u2019", "'")
    if any(character.isdigit() for character in text):
        raise NotationError(
            f"digits in `{text}` at character {place}; write numbers as the words that are said"
        )
    raise NotationError(
        f"`{text}` at character {place} is not a word; "
        "use letters only, with [ ] ( | ) < > for the notation"
    )


class _Parser:
    """Recursive descent over the tokens; every step yields alternatives, never a tree."""

    def __init__(self, tokens: list[_Token], definitions: Mapping[str, Alternatives]) -> None:
        self._tokens = tokens
        self._next = 0
        self._definitions = definitions

    def parse(self) -> Alternatives:
        texts = self._alternatives(depth=0)
        if self._next < len(self._tokens):
            token = self._tokens[self._next]
            raise NotationError(
                f"`{token.text}` at character {token.place} closes nothing; remove it"
            )
        return texts

    def _alternatives(self, depth: int) -> Alternatives:
        if depth > MAX_DEPTH:
            raise NotationError(f"brackets nest more than {MAX_DEPTH} deep; write it simpler")
        texts = self._sequence(depth)
        while self._at_mark("|"):
            self._next += 1
            texts = _bounded([*texts, *self._sequence(depth)])
        return texts

    def _sequence(self, depth: int) -> Alternatives:
        texts: Alternatives = ("",)
        empty = True
        while self._next < len(self._tokens) and not self._at_mark("|", ")", "]"):
            part = self._part(depth)
            empty = False
            texts = _bounded([f"{head} {tail}".strip() for head in texts for tail in part])
        if empty:
            raise NotationError(f"words are missing {self._whereabouts()}; write what is said")
        return texts

    def _part(self, depth: int) -> Alternatives:
        token = self._tokens[self._next]
        self._next += 1
        if token.kind == "name":
            return self._named(token)
        if token.kind != "mark":
            return (token.text,)
        texts = self._alternatives(depth + 1)
        self._close(token)
        return texts if token.text == "(" else _bounded([*texts, ""])

    def _named(self, token: _Token) -> Alternatives:
        try:
            return self._definitions[token.text]
        except KeyError:
            raise NotationError(
                f"<{token.text}> at character {token.place} is not defined; "
                "add it under `define` or correct the name"
            ) from None

    def _close(self, opening: _Token) -> None:
        closing = ")" if opening.text == "(" else "]"
        if not self._at_mark(closing):
            raise NotationError(
                f"`{opening.text}` at character {opening.place} is not closed; "
                f"add `{closing}` {self._whereabouts()}"
            )
        self._next += 1

    def _at_mark(self, *marks: str) -> bool:
        if self._next >= len(self._tokens):
            return False
        token = self._tokens[self._next]
        return token.kind == "mark" and token.text in marks

    def _whereabouts(self) -> str:
        if self._next >= len(self._tokens):
            return "at the end of the phrase"
        token = self._tokens[self._next]
        return f"before `{token.text}` at character {token.place}"


def _bounded(texts: list[str]) -> Alternatives:
    distinct = tuple(dict.fromkeys(texts))
    if max(map(len, distinct)) > MAX_LENGTH:
        raise NotationError(
            f"the phrase stands for more than {MAX_LENGTH} characters; write it shorter"
        )
    if len(distinct) > MAX_ALTERNATIVES:
        raise NotationError(
            f"the phrase has more than {MAX_ALTERNATIVES} readings; split it or write fewer choices"
        )
    return distinct
