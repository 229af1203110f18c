"""From the course through the sheet to exchanges: who was asked what, and what came back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from voxlog.follow.alignment import Move
from voxlog.follow.evidence import ActEvidence

__all__ = ["Aside", "Exchange", "Resumed", "exchanges"]

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
    return grouping.found


class _Grouping:
    """What happened so far.

    _current: place in `found` of the exchange being worked through. _unanswered: the place of each
    step's exchange that may still get its answer.
    """

    def __init__(self, evidence: Sequence[ActEvidence]) -> None:
        self._evidence = evidence
        self._current: int | None = None
        self._unanswered: dict[int, int] = {}
        self._stretch = 0
        self.found: list[Happened] = []

    def resume(self, index: int, step: int) -> None:
        self.found.append(Resumed(index, step))
        self._stretch += 1
        self._current = None
        self._unanswered.clear()

    def side(self, index: int, step: int) -> None:
        answered = self._answered_after_all(index)
        if answered is not None:
            self._extend(answered, "answer", index)
            return
        self.found.append(Aside(index, step))
        if self._current is not None and _is_disregard(self._evidence[index]):
            self._disregard(self._current)

    def add(self, index: int, move: Move, step: int) -> None:
        self._forget_the_old(index)
        held = self._exchange(self._current) if self._current is not None else None
        if held is not None and held.step == step:
            place = self._current
        else:
            place = self._unanswered.get(step) if move == "answer" else None
        if place is None:
            self.found.append(Exchange(step, (), (), self._stretch))
            place = len(self.found) - 1
        self._extend(place, move, index)
        self._current = place

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

    def _disregard(self, place: int) -> None:
        """A challenge that was taken back is no exchange; an answered one stays."""
        held = self._exchange(place)
        if not held.answers:
            self.found[place] = Aside(held.asks[-1], held.step)
            self._unanswered.pop(held.step, None)
            self._current = None


def _is_disregard(evidence: ActEvidence) -> bool:
    best = evidence.sides[0] if evidence.sides else None
    return best is not None and best.act == "disregard" and best.evidence > 0
