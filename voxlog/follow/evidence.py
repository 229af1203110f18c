"""What an utterance says about the steps of a sheet.

The recogniser hears phrases; the follower needs acts: a challenge of step 14, an answer to it, a
callout, a word of radiotelephony. One phrase can be several acts ("checked" answers many items),
and which one was meant is what the alignment finds out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voxlog.sheet.model import Item, Sheet
from voxlog.sheet.phrases import Act, Phrase
from voxlog.speech.utterance import Heard, Utterance

__all__ = ["ActEvidence", "Answer", "PhraseIndex", "SideAct", "weigh"]

Floats = NDArray[np.float64]

UNHEARD = -12.0
"""Evidence in nats of an act that is not among what an utterance may have been."""
WRONG_POSITION = 12.0
"""Nats lost by a phrase that comes from another position's channel: as much as not to be heard, so
that nobody but the answering position and its stand-ins confirms an item."""
ANY_ITEM_WORD = 1.0
"""Nats lost by "affirm" and "negative" against the sheet's own words for an item."""

_ASKS: frozenset[Act] = frozenset({"challenge", "announce"})
_ANSWERS: frozenset[Act] = frozenset({"confirm", "deny", "value", "go"})
_WORDS: frozenset[Act] = frozenset({"affirm", "negative"})


@dataclass(frozen=True, slots=True)
class Answer:
    """One way in which an utterance may answer a step: act, words, value and evidence in nats."""

    act: Act
    text: str
    value: float | None
    evidence: float


@dataclass(frozen=True, slots=True)
class SideAct:
    """Something heard that is no challenge and no answer: a callout, a reading, a word, a hold."""

    act: Act
    id: str
    phase: str
    position: str
    text: str
    value: float | None
    unit: str
    evidence: float


@dataclass(frozen=True, slots=True)
class ActEvidence:
    """One utterance, seen from the sheet.

    ask, answer: for each step (in the sheet's order) the evidence in nats that it was asked or
    announced, and that it was answered or the go word said. side: best evidence of a side act; at
    least 0, the evidence of speech that the sheet does not list. resume: step index to evidence.
    answers: step index to the ways in which it may have been answered, best first. sides: best
    first. asked: step index to the words of the challenge.
    """

    utterance: Utterance
    ask: Floats
    answer: Floats
    side: float
    resume: Mapping[int, float] = field(default_factory=dict)
    answers: Mapping[int, tuple[Answer, ...]] = field(default_factory=dict)
    sides: tuple[SideAct, ...] = ()
    asked: Mapping[int, str] = field(default_factory=dict)


class PhraseIndex:
    """The sheet's phrases with the steps that they belong to."""

    def __init__(self, sheet: Sheet, phrases: Sequence[Phrase]) -> None:
        self.phrases = phrases
        self.steps = [step.key for _, step in sheet.steps]
        self.step_of = {key: index for index, key in enumerate(self.steps)}
        self._items = {
            index: step for index, (_, step) in enumerate(sheet.steps) if isinstance(step, Item)
        }

    def allows(self, phrase: Phrase, position: str) -> bool:
        """Whether the position may say the phrase; "" is any."""
        return not position or not phrase.position or position in (phrase.position, *phrase.others)

    def answered_by(self, position: str, act: Act) -> list[int]:
        """Indexes of the items that a position ("" is any) answers by "affirm" or "negative".

        An item that asks for a value only is not confirmed without one.
        """
        return [
            index
            for index, item in self._items.items()
            if (not position or position in (item.by, *item.stand_in))
            and (act == "negative" or item.confirm)
        ]


def weigh(utterance: Utterance, index: PhraseIndex, position: str = "") -> ActEvidence:
    """Turn what an utterance may have been into evidence for acts.

    position: who speaks on the utterance's channel, "" if that is not known.
    """
    count = len(index.steps)
    ask, answer = np.full(count, UNHEARD), np.full(count, UNHEARD)
    resume: dict[int, float] = {}
    answers: dict[int, list[Answer]] = {}
    asked: dict[int, str] = {}
    sides: list[SideAct] = []
    for heard in utterance.heard:
        phrase = index.phrases[heard.sayable.phrase]
        fits = index.allows(phrase, position)
        evidence = heard.evidence - (0.0 if fits else WRONG_POSITION)
        if phrase.act in _ASKS:
            step = index.step_of[phrase.step]
            if evidence > ask[step]:
                ask[step], asked[step] = evidence, heard.sayable.text
        elif phrase.act in _ANSWERS | _WORDS:
            for step, found in _answered(heard, phrase, evidence, index, position):
                answers.setdefault(step, []).append(found)
            if phrase.act in _WORDS:  # said to something that is no item, it answers none
                sides.append(_side(heard, phrase, evidence))
        elif phrase.act == "resume":
            step = index.step_of.get(f"{heard.sayable.value:.0f}", -1)
            resume[step] = max(evidence, resume.get(step, UNHEARD))
        else:
            sides.append(_side(heard, phrase, evidence))
    for step, found_all in answers.items():
        answer[step] = max(found.evidence for found in found_all)
    resume.pop(-1, None)
    return ActEvidence(
        utterance=utterance,
        ask=ask,
        answer=answer,
        side=max([0.0, *(side.evidence for side in sides)]),
        resume=resume,
        answers={
            step: tuple(sorted(all_, key=lambda one: -one.evidence))
            for step, all_ in answers.items()
        },
        sides=tuple(sorted(sides, key=lambda side: -side.evidence)),
        asked=asked,
    )


def _answered(
    heard: Heard, phrase: Phrase, evidence: float, index: PhraseIndex, position: str
) -> list[tuple[int, Answer]]:
    said = heard.sayable
    if phrase.act in _WORDS:
        act: Act = "confirm" if phrase.act == "affirm" else "deny"
        found = Answer(act, said.text, None, evidence - ANY_ITEM_WORD)
        return [(step, found) for step in index.answered_by(position, phrase.act)]
    found = Answer(phrase.act, said.text, said.value, evidence)
    return [(index.step_of[phrase.step], found)]


def _side(heard: Heard, phrase: Phrase, evidence: float) -> SideAct:
    said = heard.sayable
    unit = phrase.slot.unit if phrase.slot else ""
    return SideAct(
        phrase.act,
        phrase.step,
        phrase.phase,
        phrase.position,
        said.text,
        said.value,
        unit,
        evidence,
    )
