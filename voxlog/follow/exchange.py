"""From the course through the sheet to exchanges: who was asked what, and what came back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from voxlog.follow.alignment import Move
from voxlog.follow.evidence import ActEvidence

__all__ = ["Aside", "Exchange", "Resumed", "exchanges"]


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


def exchanges(
    moves: Sequence[tuple[Move, int]], evidence: Sequence[ActEvidence]
) -> list[Exchange | Aside | Resumed]:
    """Group the moves of a course; in the order in which each began."""
    found: list[Exchange | Aside | Resumed] = []
    current: int | None = None
    stretch = 0
    for index, (move, step) in enumerate(moves):
        if move == "resume":
            found.append(Resumed(index, step))
            stretch += 1
            current = None
        elif move == "side":
            found.append(Aside(index, step))
            if current is not None and _is_disregard(evidence[index]):
                current = _disregard(found, current)
        else:
            current = _add(found, current, move, step, index, stretch)
    return found


def _add(
    found: list[Exchange | Aside | Resumed],
    current: int | None,
    move: Move,
    step: int,
    index: int,
    stretch: int,
) -> int:
    asks, answers = ((index,), ()) if move == "ask" else ((), (index,))
    held = found[current] if current is not None else None
    if current is None or not isinstance(held, Exchange) or held.step != step:
        found.append(Exchange(step, asks, answers, stretch))
        return len(found) - 1
    found[current] = replace(held, asks=held.asks + asks, answers=held.answers + answers)
    return current


def _is_disregard(evidence: ActEvidence) -> bool:
    best = evidence.sides[0] if evidence.sides else None
    return best is not None and best.act == "disregard" and best.evidence > 0


def _disregard(found: list[Exchange | Aside | Resumed], current: int) -> int | None:
    """A challenge that was taken back is no exchange; an answered one stays."""
    held = found[current]
    if isinstance(held, Exchange) and not held.answers:
        found[current] = Aside(held.asks[-1], held.step)
        return None
    return current
