"""What an utterance says about the steps of a sheet.

The recogniser hears phrases; the follower needs acts: a challenge of step 14, an answer to it, a
callout, a word of radiotelephony. One phrase can be several acts ("checked" answers many items),
and which one was meant is what the alignment finds out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voxlog.sheet.model import Item, Reading, Sheet, ValueSpec
from voxlog.sheet.phrases import Act, Phrase
from voxlog.speech.utterance import Heard, Utterance

__all__ = ["UNHEARD", "ActEvidence", "Answer", "PhraseIndex", "SideAct", "weigh"]

Floats = NDArray[np.float64]

UNHEARD = -12.0
"""Evidence in nats of an act that is not among what an utterance may have been."""
WRONG_POSITION = 12.0
"""Nats lost by a phrase that comes from another position's channel: as much as not to be heard, so
that nobody but the answering position and its stand-ins confirms an item."""
ANY_ITEM_WORD = 1.0
"""Nats lost by "affirm" and "negative" against the sheet's own words for an item."""
TO_NO_ITEM = 4.0
"""Nats lost by "affirm" and "negative" as an answer to something that is no item: rarer than to an
item whose challenge was not heard."""
DENIAL = OFF_LIMIT = 2.0
"""Nats lost by an answer that denies, and by a number outside its limits: a check is passed far
more often than not. That chooses between what sounds alike; what is thin by sound alone stays
uncertain. On fit-a to fit-c, 5 and 0 dB, the latter took false findings from 63 to 49 and values
right from 336 to 343 of 402; of 60 planted deviations it hid one."""
LEAST = -4.5
"""Evidence under which an utterance was no part of an exchange, however well it would fit in."""
ANSWER_BEHIND = 2.0
"""Nats by which an answer may be further behind than a side act: it was asked for."""
BEHIND = 4.0
"""Nats by which a side act may be behind the best reading: a challenge that was taken back, or that
is out of place, is not a callout because it sounds a little like one."""

_ASKS: frozenset[Act] = frozenset({"challenge", "announce"})
_ANSWERS: frozenset[Act] = frozenset({"confirm", "deny", "value", "go"})
_WORDS: frozenset[Act] = frozenset({"affirm", "negative"})


@dataclass(frozen=True, slots=True)
class Answer:
    """One way in which an utterance may answer a step: act, words, value and evidence in nats.

    rarity: nats that it lost by its sense, whatever was heard.
    """

    act: Act
    text: str
    value: float | None
    evidence: float
    rarity: float = 0.0

    @property
    def by_sound(self) -> float:
        """Its evidence by what was heard alone, in nats."""
        return self.evidence + self.rarity


@dataclass(frozen=True, slots=True)
class SideAct:
    """Something heard that is no challenge and no answer: a callout, a reading, a word, a hold.

    rarity: nats that it lost by its sense, whatever was heard.
    """

    act: Act
    id: str
    phase: str
    position: str
    text: str
    value: float | None
    unit: str
    evidence: float
    rarity: float = 0.0

    @property
    def by_sound(self) -> float:
        """Its evidence by what was heard alone, in nats."""
        return self.evidence + self.rarity


@dataclass(frozen=True, slots=True)
class ActEvidence:
    """One utterance, seen from the sheet.

    ask, answer: for each step (in the sheet's order) the evidence in nats that it was asked or
    announced, and that it was answered or the go word said. side: best evidence of a side act; at
    least 0, the evidence of speech that the sheet does not list. resume: step index to evidence.
    answers: step index to the answers of its own words. words: "affirm" and "negative", and which
    steps each may answer. sides: best first. asked: step index to the words of the challenge.
    position: who speaks on the utterance's channel, "" if that is not known.
    """

    utterance: Utterance
    ask: Floats
    answer: Floats
    side: float
    resume: Mapping[int, float] = field(default_factory=dict)
    answers: Mapping[int, Sequence[Answer]] = field(default_factory=dict)
    words: Sequence[tuple[Answer, NDArray[np.bool_]]] = ()
    sides: tuple[SideAct, ...] = ()
    asked: Mapping[int, str] = field(default_factory=dict)
    position: str = ""

    def ways(self, step: int) -> list[Answer]:
        """The ways in which a step may have been answered, best first."""
        words = [found for found, steps in self.words if steps[step]]
        return sorted([*self.answers.get(step, ()), *words], key=lambda way: -way.evidence)


class PhraseIndex:
    """The sheet's phrases with the steps that they belong to."""

    def __init__(self, sheet: Sheet, phrases: Sequence[Phrase]) -> None:
        self.phrases = phrases
        self.steps = [step.key for _, step in sheet.steps]
        self.step_of = {key: index for index, key in enumerate(self.steps)}
        self._items = {
            index: step for index, (_, step) in enumerate(sheet.steps) if isinstance(step, Item)
        }
        self._readings = sheet.readings_by_place
        self._answered_by: dict[tuple[str, Act], NDArray[np.bool_]] = {}

    def allows(self, phrase: Phrase, position: str) -> bool:
        """Whether the position may say the phrase; "" is any."""
        return not position or not phrase.position or position in (phrase.position, *phrase.others)

    def rarity(self, phrase: Phrase, value: float | None) -> float:
        """Nats that a phrase loses by its sense."""
        if phrase.act in ("deny", "negative"):
            return DENIAL
        if value is None:
            return 0.0
        limits: ValueSpec | Reading | None = None
        if phrase.act == "value":
            limits = self._items[self.step_of[phrase.step]].value
        elif phrase.act == "reading":
            limits = self._readings[phrase.phase, phrase.step]
        return OFF_LIMIT if limits and not limits.is_within_limits(value) else 0.0

    def answered_by(self, position: str, act: Act) -> NDArray[np.bool_]:
        """Which steps a position ("" is any) may answer by "affirm" or "negative".

        An item that asks for a value only is not confirmed without one.
        """
        if (position, act) not in self._answered_by:
            steps = np.zeros(len(self.steps), np.bool_)
            for index, item in self._items.items():
                may_answer = not position or position in (item.by, *item.stand_in)
                steps[index] = may_answer and (act == "negative" or bool(item.confirm))
            self._answered_by[position, act] = steps
        return self._answered_by[position, act]


def weigh(utterance: Utterance, index: PhraseIndex, position: str = "") -> ActEvidence:
    """Turn what an utterance may have been into evidence for acts.

    position: who speaks on the utterance's channel, "" if that is not known.
    """
    count = len(index.steps)
    ask, answer = np.full(count, UNHEARD), np.full(count, UNHEARD)
    resume: dict[int, float] = {}
    answers: dict[int, list[Answer]] = {}
    words: list[tuple[Answer, NDArray[np.bool_]]] = []
    asked: dict[int, str] = {}
    sides: list[SideAct] = []
    readings = [_fitting(heard, index, position) for heard in utterance.heard]
    least = max((evidence for *_, evidence in readings), default=0.0) - BEHIND
    least_answer = max(least - ANSWER_BEHIND, LEAST)
    for heard, phrase, evidence in readings:
        said = heard.sayable
        if phrase.act in _ASKS:
            step = index.step_of[phrase.step]
            if evidence > max(ask[step], LEAST):
                ask[step], asked[step] = evidence, said.text
        elif phrase.act in _ANSWERS and evidence > least_answer:
            step = index.step_of[phrase.step]
            lost = index.rarity(phrase, said.value)
            found = Answer(phrase.act, said.text, said.value, evidence - lost, lost)
            answers.setdefault(step, []).append(found)
            answer[step] = max(answer[step], found.evidence)
        elif phrase.act in _WORDS and evidence > least_answer:
            sense: Act = "confirm" if phrase.act == "affirm" else "deny"
            lost = index.rarity(phrase, None)
            found = Answer(sense, said.text, None, evidence - ANY_ITEM_WORD - lost, lost)
            steps = index.answered_by(position, phrase.act)
            words.append((found, steps))
            np.maximum(answer, found.evidence, out=answer, where=steps)
            if evidence > least:
                sides.append(_side(heard, phrase, evidence - TO_NO_ITEM, 0.0))
        elif phrase.act == "resume":
            step = index.step_of.get(f"{said.value:.0f}", -1)
            resume[step] = max(evidence, resume.get(step, UNHEARD))
        elif evidence > least and phrase.act not in _ANSWERS | _WORDS:
            sides.append(_side(heard, phrase, evidence, index.rarity(phrase, said.value)))
    resume.pop(-1, None)
    return ActEvidence(
        utterance=utterance,
        ask=ask,
        answer=answer,
        side=max([0.0, *(side.evidence for side in sides)]),
        resume=resume,
        answers=answers,
        words=words,
        sides=tuple(sorted(sides, key=lambda side: -side.evidence)),
        asked=asked,
        position=position,
    )


def _fitting(heard: Heard, index: PhraseIndex, position: str) -> tuple[Heard, Phrase, float]:
    """A reading with its phrase, and its evidence if said by this position."""
    phrase = index.phrases[heard.sayable.phrase]
    fits = index.allows(phrase, position)
    return heard, phrase, heard.evidence - (0.0 if fits else WRONG_POSITION)


def _side(heard: Heard, phrase: Phrase, evidence: float, rarity: float) -> SideAct:
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
        evidence - rarity,
        rarity,
    )
