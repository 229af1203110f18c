"""From the course through the sheet to exchanges: who was asked what, and what came back."""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace

from voxlog.follow.alignment import Move
from voxlog.follow.evidence import UNHEARD, ActEvidence
from voxlog.sheet.phrases import Act

__all__ = ["Aside", "Exchange", "Resumed", "exchanges", "says_correction"]

ASKED_AFTER_ALL = 3.0
"""Evidence in nats from which a challenge of a step that was never reached is taken for one."""
NEAR = 5
"""Steps that such a challenge may be away from where the run stood."""
CORRECTED = -2.0
"""Evidence from which "correction", and an answer after it, count: that of any phrase beside the
items (`judge_aside.LEAST_EVIDENCE`)."""
PATIENCE = 15.0
"""Seconds after a challenge in which its answer may come although another step was asked since."""


@dataclass(frozen=True, slots=True)
class Exchange:
    """A step being worked through once.

    step: index in the sheet's order. asks, answers: indexes of the utterances, in order; either may
    be empty, not both. stretch: how many resumes came before.
    """

    step: int
    asks: tuple[int, ...]
    answers: tuple[int, ...]
    stretch: int

    @property
    def first(self) -> int:
        """Index of the utterance with which it starts."""
        return min((*self.asks, *self.answers))


@dataclass(frozen=True, slots=True)
class Aside:
    """An utterance that belongs to no exchange, and the step at which the run stood (-1: none)."""

    utterance: int
    step: int


@dataclass(frozen=True, slots=True)
class Resumed:
    """An utterance that takes the work up again at a step."""

    utterance: int
    step: int


Happened = Exchange | Aside | Resumed


def exchanges(moves: Sequence[tuple[Move, int]], evidence: Sequence[ActEvidence]) -> list[Happened]:
    """Group the moves of a course; in the order in which each began."""
    grouping = _Grouping(evidence)
    for index, (move, step) in enumerate(moves):
        if move == "resume":
            grouping.resume(index, step)
        elif move == "side":
            grouping.side(index, step)
        else:
            grouping.add(index, move, step)
    grouping.add_forgotten()
    return grouping.found


class _Grouping:
    """What happened so far.

    _current: place in `found` of the exchange being worked through. _unanswered: the place of each
    step's exchange that may still get its answer. _asides: places of those that may yet prove to
    have been the challenge.
    """

    def __init__(self, evidence: Sequence[ActEvidence]) -> None:
        self._evidence = evidence
        self._current: int | None = None
        self._unanswered: dict[int, int] = {}
        self._asides: deque[int] = deque()
        self._stretch = 0
        self.found: list[Happened] = []

    def resume(self, index: int, step: int) -> None:
        self.found.append(Resumed(index, step))
        self._stretch += 1
        self._current = None
        self._unanswered.clear()
        self._asides.clear()

    def side(self, index: int, step: int) -> None:
        answered = self._corrected(index)
        if answered is None:
            answered = self._answered_after_all(index)
        if answered is not None:
            self._extend(answered, "answer", index)
            return
        self.found.append(Aside(index, step))
        if _is_said("disregard", self._evidence[index]):
            self._disregard()
        else:
            self._asides.append(len(self.found) - 1)

    def add(self, index: int, move: Move, step: int) -> None:
        self._forget_the_old(index)
        held = self._exchange(self._current) if self._current is not None else None
        if held is not None and held.step == step:
            place = self._current
        else:
            place = self._asked_before(index, step) if move == "answer" else None
        if place is None:
            self.found.append(Exchange(step, (), (), self._stretch))
            place = len(self.found) - 1
        self._extend(place, move, index)
        self._current = place

    def add_forgotten(self) -> None:
        """Steps that were asked clearly, between another one and its answer, and never answered;
        and those left out and then answered in their own words, whatever was heard of the question.
        """
        done = {one.step for one in self.found if isinstance(one, Exchange)}
        stretch = 0
        for place, one in enumerate(self.found):
            stretch += isinstance(one, Resumed)
            if not isinstance(one, Aside):
                continue
            step = self._asked_here(one, done)
            if step is not None:
                self.found[place] = Exchange(step, (one.utterance,), (), stretch)
                done.add(step)
            elif self._is_answered_here(one, done):
                self.found[place] = Exchange(one.step - 1, (), (one.utterance,), stretch)
                done.add(one.step - 1)

    def _asked_here(self, one: Aside, done: set[int]) -> int | None:
        """The step not done, near where the run stood, that an aside asks clearly."""
        heard = self._evidence[one.utterance]
        near = range(max(0, one.step - NEAR), min(len(heard.ask), one.step + NEAR + 1))
        step = max(set(near) - done, key=lambda step: heard.ask[step], default=None)
        least = max(ASKED_AFTER_ALL, heard.side)
        return step if step is not None and heard.ask[step] > least else None

    def _is_answered_here(self, one: Aside, done: set[int]) -> bool:
        """Whether an aside answers the step before, left out by then, in words of that step."""
        heard, step = self._evidence[one.utterance], one.step - 1
        if step < 0 or step in done or one.step not in done:
            return False
        own = max((way.evidence for way in heard.answers.get(step, ())), default=UNHEARD)
        others = (way.evidence for way in heard.answers.get(one.step, ()))
        return own > max(ASKED_AFTER_ALL, heard.side, *others)

    def _corrected(self, index: int) -> int | None:
        """The exchange whose answer is replaced, where "correction" was said just before."""
        if index == 0 or self._current is None:
            return None
        is_correction = says_correction(self._evidence[index - 1])
        step = self._exchange(self._current).step
        is_answer = self._evidence[index].answer[step] > CORRECTED
        return self._current if is_correction and is_answer else None

    def _asked_before(self, index: int, step: int) -> int | None:
        """The exchange that an answer belongs to: another step was asked, or talked of, since."""
        if step in self._unanswered:
            return self._unanswered[step]
        start = self._evidence[index].utterance.start
        while self._asides and start - self._end_of_aside(self._asides[0]) > PATIENCE:
            self._asides.popleft()
        for place in reversed(self._asides):
            aside = self.found[place]
            assert isinstance(aside, Aside)
            heard = self._evidence[aside.utterance]
            if heard.ask[step] > heard.side:
                self._asides.remove(place)
                self.found[place] = Exchange(step, (aside.utterance,), (), self._stretch)
                return place
        return None

    def _end_of_aside(self, place: int) -> float:
        aside = self.found[place]
        assert isinstance(aside, Aside)
        return self._evidence[aside.utterance].utterance.end

    def _exchange(self, place: int) -> Exchange:
        held = self.found[place]
        assert isinstance(held, Exchange)
        return held

    def _extend(self, place: int, move: Move, index: int) -> None:
        held = self._exchange(place)
        if move == "ask":
            self.found[place] = replace(held, asks=(*held.asks, index))
            if not held.answers:
                self._unanswered[held.step] = place
        else:
            self.found[place] = replace(held, answers=(*held.answers, index))
            self._unanswered.pop(held.step, None)

    def _forget_the_old(self, index: int) -> None:
        """Drop what was asked too long ago to be answered now."""
        start = self._evidence[index].utterance.start
        for step, place in list(self._unanswered.items()):
            asked = self._evidence[self._exchange(place).asks[-1]].utterance.end
            if start - asked > PATIENCE:
                del self._unanswered[step]

    def _answered_after_all(self, index: int) -> int | None:
        """The exchange that an aside answers: the work had gone on without waiting for it."""
        self._forget_the_old(index)
        heard = self._evidence[index]
        step = max(self._unanswered, key=lambda one: heard.answer[one], default=None)
        if step is None or heard.answer[step] <= heard.side:
            return None
        return self._unanswered[step]

    def _disregard(self) -> None:
        """A challenge that was taken back is no exchange; an answered one stays."""
        self._asides.clear()
        held = self._exchange(self._current) if self._current is not None else None
        if self._current is not None and held is not None and not held.answers:
            self.found[self._current] = Aside(held.asks[-1], held.step)
            self._unanswered.pop(held.step, None)
            self._current = None


def says_correction(evidence: ActEvidence) -> bool:
    """Whether an utterance says that what follows replaces what was said before."""
    return _is_said("correction", evidence, CORRECTED)


def _is_said(act: Act, evidence: ActEvidence, least: float = 0.0) -> bool:
    best = evidence.sides[0] if evidence.sides else None
    return best is not None and best.act == act and best.evidence > least
