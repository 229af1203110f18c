"""What is allowed in a sheet but likely to disappoint: warnings for its writer."""

from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

from voxlog.sheet.marks import Loc
from voxlog.sheet.model import Cue, Item, Sheet
from voxlog.sheet.phrases import ASKED_OF_THE_LOG, sheet_phrases
from voxlog.sheet.problem import Problem

__all__ = ["warnings"]

# Unstressed words: an intercom swallows them, so nothing may hang on them alone. "Not", "off"
# and the like are stressed when they matter and stay out of the lists.
_ARTICLES: Final = ("a", "all", "an", "that", "the", "there", "this")
_PRONOUNS: Final = ("i", "it", "its", "my", "our", "their", "we", "your")
_LINKS: Final = ("and", "at", "by", "for", "in", "of", "on", "so", "then", "to", "with")
_FILLERS: Final = ("are", "has", "have", "is", "now", "please", "was")
_WEAK: Final = frozenset((*_ARTICLES, *_PRONOUNS, *_LINKS, *_FILLERS))
_SHORTEST_WORD: Final = 4
_SHORTEST_CALL: Final = 6


class _Placed(NamedTuple):
    loc: Loc
    item: Item


_Finding = tuple[Loc, str]


def warnings(sheet: Sheet) -> tuple[Problem, ...]:
    """Every warning, in file order; lines are 0 for a sheet that was not read from a file."""
    placed = tuple(
        _Placed(("phases", p, "steps", s), step)
        for p, phase in enumerate(sheet.phases)
        for s, step in enumerate(phase.steps)
        if isinstance(step, Item)
    )
    found = [warning for check in _CHECKS for warning in check(sheet, placed)]
    return tuple(
        sorted(Problem(sheet.file, *sheet.mark_of(loc), message) for loc, message in found)
    )


def _challenges_differ(sheet: Sheet, items: tuple[_Placed, ...]) -> Iterator[_Finding]:
    first: dict[str, _Placed] = {}
    for placed in items:
        for text in placed.item.ask:
            other = first.setdefault(text, placed)
            if other is not placed:
                line = sheet.mark_of((*other.loc, "ask")).line
                yield (
                    (*placed.loc, "ask"),
                    f"`{text}` also opens item {other.item.number} on line {line}; "
                    "only the order tells them apart, so word one of them differently",
                )


def _denials_stand_out(_: Sheet, items: tuple[_Placed, ...]) -> Iterator[_Finding]:
    for loc, item in items:
        confirms = {_strong_words(text): text for text in item.confirm}
        for text in item.deny:
            near = confirms.get(_strong_words(text))
            if near is not None:
                yield (
                    (*loc, "deny"),
                    f"`{text}` differs from the confirming `{near}` only in words that are "
                    "easily lost; give the denial a word of its own",
                )


def _strong_words(text: str) -> tuple[str, ...]:
    words = text.split()
    return tuple(word for word in words if word not in _WEAK) or tuple(words)


def _phrases_are_long_enough(_: Sheet, items: tuple[_Placed, ...]) -> Iterator[_Finding]:
    for loc, item in items:
        for key, texts in (("ask", item.ask), ("confirm", item.confirm), ("deny", item.deny)):
            for text in texts:
                if len(text) < _SHORTEST_WORD:
                    yield (
                        (*loc, key),
                        f"`{text}` is one short word, easily misheard; add a word to it",
                    )


def _denials_exist(_: Sheet, items: tuple[_Placed, ...]) -> Iterator[_Finding]:
    for loc, item in items:
        if item.mandatory and item.confirm and not item.deny:
            yield (
                loc,
                f"item {item.number} has no `deny`; a contradiction cannot compete with "
                "its answers, so list how it is denied",
            )


def _answers_exist(_: Sheet, items: tuple[_Placed, ...]) -> Iterator[_Finding]:
    for loc, item in items:
        if not item.confirm and item.value is None:
            yield (
                loc,
                f"item {item.number} has neither `confirm` nor `value`; "
                "only a bare affirm can satisfy it",
            )


def _answers_add_something(_: Sheet, items: tuple[_Placed, ...]) -> Iterator[_Finding]:
    for loc, item in items:
        for text in item.confirm:
            if text in item.ask:
                yield (
                    (*loc, "confirm"),
                    f"`{text}` is also the challenge; asked twice it would count as answered",
                )


def _call_word_stands_out(sheet: Sheet, _: tuple[_Placed, ...]) -> Iterator[_Finding]:
    if sheet.ask_by_voice is None:
        return
    said = {
        word
        for phrase in sheet_phrases(sheet)
        if phrase.act not in ASKED_OF_THE_LOG
        for word in phrase.text.split()
    }
    for call in sheet.ask_by_voice.call_word:
        if len(call) < _SHORTEST_CALL:
            message = f"`{call}` is short, so other words are taken for it; choose a longer one"
        elif said.intersection(call.split()):
            message = f"`{call}` is said in this sheet otherwise too; choose a word of its own"
        else:
            continue
        yield ("ask-by-voice", "call-word"), message


def _decompressions_are_called(sheet: Sheet, _: tuple[_Placed, ...]) -> Iterator[_Finding]:
    """Their end is only known by a call."""
    called = {
        level for phase in sheet.phases for callout in phase.callouts for level in callout.levels
    }
    for p, phase in enumerate(sheet.phases):
        for s, step in enumerate(phase.steps):
            drop = step.decompression if isinstance(step, Cue) else None
            if drop is not None and drop.to not in called:
                yield (
                    ("phases", p, "steps", s, "decompression", "to"),
                    f"no callout is due at {drop.to:g}, so its time will not be known; add one",
                )


_CHECKS: Final[tuple[Callable[[Sheet, tuple[_Placed, ...]], Iterator[_Finding]], ...]] = (
    _challenges_differ,
    _denials_stand_out,
    _phrases_are_long_enough,
    _denials_exist,
    _answers_exist,
    _answers_add_something,
    _call_word_stands_out,
    _decompressions_are_called,
)
