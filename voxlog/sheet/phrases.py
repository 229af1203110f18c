"""Everything a sheet makes sayable, as one flat list: what the recogniser listens for.

The same text may stand in the list more than once, for instance as the answer to several items;
which one was meant is for the follower to decide.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from voxlog.sheet.model import Callout, Cue, Elapsed, Item, Phase, Quantity, Reading, Sheet
from voxlog.sheet.parts import ValueSpec

__all__ = ["ASKED_OF_THE_LOG", "Act", "Phrase", "Slot", "reading_name", "sheet_phrases"]

Act = Literal[
    "challenge",
    "confirm",
    "deny",
    "value",
    "callout",
    "elapsed",
    "reading",
    "announce",
    "go",
    "hold",
    "resume",
    "affirm",
    "negative",
    "receipt",
    "say-again",
    "correction",
    "disregard",
    "stand-by",
    "call-word",
    "ask-open",
    "ask-time",
    "ask-reading",
    "mark",
    "correct-item",
]

ASKED_OF_THE_LOG: frozenset[Act] = frozenset(
    {"call-word", "ask-open", "ask-time", "ask-reading", "mark", "correct-item"}
)
"""Acts that are for the log itself: no part of the procedure, whoever says them."""

_WORDS: tuple[tuple[Act, str], ...] = (
    ("affirm", "affirm"),
    ("negative", "negative"),
    ("receipt", "receipt"),
    ("say-again", "say_again"),
    ("correction", "correction"),
    ("disregard", "disregard"),
    ("stand-by", "stand_by"),
)


_RECEIPTS = 2  # of the words for a receipt, those that are listened for before a number


@dataclass(frozen=True, slots=True)
class Slot:
    """The number in a phrase: how it is spoken, and which values are to be listened for.

    low, high: the lowest and highest value, in `unit`; step: the distance between values.
    """

    quantity: Quantity
    unit: str
    low: float
    high: float
    step: float


@dataclass(frozen=True, slots=True)
class Phrase:
    """One thing that may be said.

    text: plain words, with `{value}` or `{item}` once if `slot` is set.
    step: the item's number as text, or the id of the cue, callout, time or reading; "" if none.
    phase: "" for what may be said in any phase.
    position: who says it; "" for anyone. others: who may say it too, that is a stand-in, or the
    position that reads a callout back.
    """

    text: str
    act: Act
    step: str = ""
    phase: str = ""
    position: str = ""
    others: tuple[str, ...] = ()
    slot: Slot | None = None


def sheet_phrases(sheet: Sheet) -> tuple[Phrase, ...]:
    """Every phrase of the sheet, in the order of the sheet; each once.

    What is asked of the log comes last, so that the places of the others do not depend on it.
    """
    return tuple(dict.fromkeys((*_all(sheet), *_of_the_log(sheet))))


def _all(sheet: Sheet) -> Iterator[Phrase]:
    for phase in sheet.phases:
        for step in phase.steps:
            if isinstance(step, Item):
                yield from _of_item(step, phase, sheet.asks)
            else:
                yield from _of_cue(step, phase)
        for callout in phase.callouts:
            yield from _of_callout(callout, phase, sheet.words.receipt)
        for elapsed in phase.elapsed:
            yield from _valued("elapsed", elapsed, phase.id)
        for reading in phase.readings:
            yield from _valued("reading", reading, phase.id)
    for reading in sheet.readings:
        yield from _valued("reading", reading, "")
    yield from _of_words(sheet)


def _of_item(item: Item, phase: Phase, asks: str) -> Iterator[Phrase]:
    for text in item.ask:
        yield Phrase(text, "challenge", item.key, phase.id, asks)
    answers: tuple[tuple[Act, tuple[str, ...]], ...] = (
        ("confirm", item.confirm),
        ("deny", item.deny),
    )
    for act, texts in answers:
        for text in texts:
            yield Phrase(text, act, item.key, phase.id, item.by, item.stand_in)
    if item.value:
        slot = _slot(item.value)
        for text in item.value.say:
            yield Phrase(text, "value", item.key, phase.id, item.by, item.stand_in, slot)


def _of_cue(cue: Cue, phase: Phase) -> Iterator[Phrase]:
    """The cue whole and in the parts that a pause may cut it into."""
    count = " ".join(cue.count)
    for text in (*cue.say, *_joined(cue.say, count), count):
        if text:
            yield Phrase(text, "announce", cue.id, phase.id, cue.by)
    for go in cue.go:
        ending = f"{count} {go}".strip()
        for text in (go, ending, *_joined(cue.say, ending)):
            yield Phrase(text, "go", cue.id, phase.id, cue.by)


def _joined(texts: tuple[str, ...], ending: str) -> tuple[str, ...]:
    return tuple(f"{text} {ending}" for text in texts) if ending else ()


def _of_callout(callout: Callout, phase: Phase, receipts: tuple[str, ...]) -> Iterator[Phrase]:
    """A callout, and its read-back: the bare number, or one after a receipt ("copied")."""
    others = (callout.read_back,) if callout.read_back else ()
    slot = _slot(callout)
    for text in callout.say:
        yield Phrase(text, "callout", callout.id, phase.id, callout.by, others, slot)
    if callout.read_back:
        for receipt in ("", *receipts[:_RECEIPTS]):
            text = f"{receipt} {{value}}".strip()
            if text not in callout.say:
                yield Phrase(
                    text, "callout", callout.id, phase.id, callout.read_back, (callout.by,), slot
                )


def _valued(act: Act, part: Elapsed | Reading, phase: str) -> Iterator[Phrase]:
    for text in part.say:
        yield Phrase(text, act, part.id, phase, part.by, (), _slot(part))


def _slot(part: ValueSpec | Callout | Elapsed | Reading) -> Slot:
    low, high = part.sayable
    return Slot(part.quantity, part.unit, low, high, part.step)


def _of_words(sheet: Sheet) -> Iterator[Phrase]:
    for text in sheet.hold:
        yield Phrase(text, "hold")
    if sheet.items:
        for text in sheet.resume:
            yield Phrase(text, "resume", slot=_numbers(sheet))
    for act, name in _WORDS:
        for text in getattr(sheet.words, name):
            yield Phrase(text, act)


def _numbers(sheet: Sheet) -> Slot:
    return Slot("number", "", sheet.items[0].number, sheet.items[-1].number, 1)


def _of_the_log(sheet: Sheet) -> Iterator[Phrase]:
    """The call-word alone, in case a pause follows it, and with each question."""
    asked = sheet.ask_by_voice
    if asked is None:
        return
    names = dict.fromkeys(
        reading.id
        for reading in (*sheet.readings, *(r for phase in sheet.phases for r in phase.readings))
    )
    for call in asked.call_word:
        yield Phrase(call, "call-word")
        for text in asked.open_items:
            yield Phrase(f"{call} {text}", "ask-open")
        for text in asked.time_at_level:
            yield Phrase(f"{call} {text}", "ask-time")
        for text in asked.last_reading:
            for name in names:
                yield Phrase(f"{call} {text} {reading_name(name)}", "ask-reading", name)
        for text in asked.mark:
            yield Phrase(f"{call} {text}", "mark")
        for text in asked.correction if sheet.items else ():
            yield Phrase(f"{call} {text}", "correct-item", slot=_numbers(sheet))


def reading_name(reading_id: str) -> str:
    """A reading as it is named aloud: its id, hyphens being spaces."""
    return reading_id.replace("-", " ")
