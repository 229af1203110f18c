"""Find the course through the sheet that explains what was heard best.

A hidden Markov model decoded by the Viterbi algorithm (Viterbi 1967; Rabiner 1989). A state is a
step of the sheet, open (asked, not yet answered) or closed; state 0 is before the first step. Each
utterance asks a step, answers one, resumes at one, or leaves the state as it is. Going on to the
next step costs nothing; skipping, going back, repeating, leaving a step unanswered and answering
what was not asked cost what they are rare. All jumps of an utterance are priced together by running
maxima, so time is linear in utterances and in steps.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

__all__ = ["Course", "Emission", "Move", "Prices", "align"]

Floats = NDArray[np.float64]
Move = Literal["ask", "answer", "side", "resume"]

IMPOSSIBLE = -1e9


@dataclass(frozen=True, slots=True)
class Prices:
    """What a move costs, in nats: the negative logarithm of how often it is made.

    Going on to the next step, and answering the open one, cost nothing: where the run stands makes
    them likelier, by the price of a side act, than their evidence alone. Set on the fit scenarios.

    skip_first, skip_more: leaving out one step, and each further one. swap: going back to the step
    before, just left out. back: a jump to an earlier step. far: a jump to anywhere. together: a
    jump between items that may be done in any order; such a group is entered at any item as at its
    first, and left from any as from its last. again: asking the open step again; redo: asking a
    closed one. unanswered: leaving an open step. unasked: an answer to a step not asked. more:
    another answer to a closed step. side: an utterance that is no part of an exchange. resume: a
    resume at a step.
    """

    skip_first: float = 5.5
    skip_more: float = 0.7
    far: float = 10.0
    swap: float = 5.0
    back: float = 8.0
    again: float = 3.5
    redo: float = 6.0
    unanswered: float = 2.5
    unasked: float = 5.5
    more: float = 6.0
    side: float = 3.0
    resume: float = 3.0
    together: float = 1.0


@dataclass(frozen=True, slots=True)
class Emission:
    """Evidence of one utterance in nats: asking and answering each step, the best side act, and
    resuming at a step, by step index. corrects: it follows "correction", so that another answer to
    a closed step costs nothing.
    """

    ask: Floats
    answer: Floats
    side: float
    resume: dict[int, float]
    corrects: bool = False


@dataclass(frozen=True, slots=True)
class Course:
    """The best course: for each utterance its move and step index (that of the state for "side",
    -1 before the first step), and the evidence less prices of the whole in nats.
    """

    moves: tuple[tuple[Move, int], ...]
    total: float


_MOVES: tuple[Move, ...] = ("side", "ask", "answer", "resume")
_SIDE, _ASK, _ANSWER, _RESUME = range(4)


def align(
    emissions: Sequence[Emission],
    steps: int,
    prices: Prices,
    cues: Sequence[int] = (),
    groups: Sequence[Sequence[int]] = (),
) -> Course:
    """Align utterances to ``steps`` steps.

    cues: step indexes whose go word needs no announcement. groups: step indexes that may be done in
    any order.
    """
    trellis = _Trellis(steps, prices, cues, groups)
    for emission in emissions:
        trellis.advance(emission)
    return trellis.best()


class _Trellis:
    """Scores of the states after the last utterance, and how each state was reached.

    Arrays have one place more than there are steps: place 0 is before the first step. A state's
    number is its place for closed, and place + places for open.
    """

    def __init__(
        self, steps: int, prices: Prices, cues: Sequence[int], groups: Sequence[Sequence[int]]
    ) -> None:
        places = steps + 1
        self._price = prices
        self._places = places
        self._at = np.arange(places)
        self._skipping = prices.skip_more * np.arange(places)
        self._unasked = np.full(places, prices.unasked)
        self._unasked[[step + 1 for step in cues]] = 0.0
        self._groups = [np.array(group) + 1 for group in groups if len(group) > 1]
        self._closed = np.full(places, IMPOSSIBLE)
        self._closed[0] = 0.0
        self._open = np.full(places, IMPOSSIBLE)
        self._source: list[NDArray[np.int32]] = []
        self._move: list[NDArray[np.int8]] = []

    def advance(self, emission: Emission) -> None:
        """Take one utterance in."""
        ask = np.concatenate([[IMPOSSIBLE], emission.ask])
        answer = np.concatenate([[IMPOSSIBLE], emission.answer])
        before, before_from = self._leaving()
        jump, jump_from = self._jump(before, before_from)
        asked, asked_from = self._asking(jump, jump_from)
        more = 0.0 if emission.corrects else self._price.more
        answered, answered_from = self._answering(jump, jump_from, more)
        stay = emission.side - self._price.side
        opened, opened_from, opened_by = _better(
            (self._open + stay, self._at + self._places, _SIDE), (ask + asked, asked_from, _ASK)
        )
        closed, closed_from, closed_by = _better(
            (self._closed + stay, self._at, _SIDE), (answer + answered, answered_from, _ANSWER)
        )
        self._resume(emission.resume, before, before_from, closed, closed_from, closed_by)
        self._closed, self._open = closed, opened
        self._source.append(np.concatenate([closed_from, opened_from]).astype(np.int32))
        self._move.append(np.concatenate([closed_by, opened_by]).astype(np.int8))

    def _leaving(self) -> tuple[Floats, NDArray[np.int64]]:
        """The better of closed, and open left unanswered, at each place; and that state."""
        unanswered = self._open - self._price.unanswered
        is_open = unanswered > self._closed
        return (
            np.where(is_open, unanswered, self._closed),
            np.where(is_open, self._at + self._places, self._at),
        )

    def _jump(self, before: Floats, state: NDArray[np.int64]) -> tuple[Floats, NDArray[np.int64]]:
        """The best way to come to each place from another one."""
        price = self._price
        score, place = self._onward(before)
        _take(score[:-1], place[:-1], before[1:] - price.swap, self._at[1:])
        run, run_at = _running_best(before[::-1])
        _take(score[:-1], place[:-1], run[-2::-1] - price.back, self._places - 1 - run_at[-2::-1])
        _take(score, place, *_best_of_others(before - price.far, self._at))
        for group in self._groups:
            here, there = score[group], place[group]
            _take(here, there, *_best_of_others(before[group] - price.together, group))
            score[group], place[group] = here, there
        return score, state[place]

    def _onward(self, before: Floats) -> tuple[Floats, NDArray[np.int64]]:
        """The best way to come to each place from an earlier one."""
        price = self._price
        leaving, left = before.copy(), self._at.copy()
        for group in self._groups:
            best = group[before[group].argmax()]
            leaving[group[-1]], left[group[-1]] = before[best], best
        score = np.full(self._places, IMPOSSIBLE)
        place = np.zeros(self._places, np.int64)
        score[1:], place[1:] = leaving[:-1], left[:-1]
        run, run_at = _running_best(leaving + self._skipping)
        skip = run[:-2] - self._skipping[2:] + 2 * price.skip_more - price.skip_first
        _take(score[2:], place[2:], skip, left[run_at[:-2]])
        for group in self._groups:
            first, rest = group[0], group[1:]
            here, there = score[rest], place[rest]
            _take(here, there, np.full(len(rest), score[first]), np.full(len(rest), place[first]))
            score[rest], place[rest] = here, there
        return score, place

    def _asking(self, jump: Floats, source: NDArray[np.int64]) -> tuple[Floats, NDArray[np.int64]]:
        score, state = jump.copy(), source.copy()
        _take(score, state, self._open - self._price.again, self._at + self._places)
        _take(score, state, self._closed - self._price.redo, self._at)
        return score, state

    def _answering(
        self, jump: Floats, source: NDArray[np.int64], more: float
    ) -> tuple[Floats, NDArray[np.int64]]:
        score, state = jump - self._unasked, source.copy()
        _take(score, state, self._open, self._at + self._places)
        _take(score, state, self._closed - more, self._at)
        return score, state

    def _resume(
        self,
        resume: dict[int, float],
        before: Floats,
        state: NDArray[np.int64],
        closed: Floats,
        closed_from: NDArray[np.int64],
        closed_by: NDArray[np.int64],
    ) -> None:
        """A resume at a step leads to the place before it."""
        best = int(before.argmax())
        for step, evidence in resume.items():
            score = before[best] + evidence - self._price.resume
            if score > closed[step]:
                closed[step], closed_from[step], closed_by[step] = score, state[best], _RESUME

    def best(self) -> Course:
        """Trace the best course back from the end."""
        final = np.concatenate([self._closed, self._open - self._price.unanswered])
        state = int(final.argmax())
        total = float(final[state])
        moves: list[tuple[Move, int]] = []
        for source, move in zip(reversed(self._source), reversed(self._move), strict=True):
            kind = _MOVES[move[state]]
            place = state % self._places
            moves.append((kind, place if kind == "resume" else place - 1))
            state = int(source[state])
        return Course(tuple(reversed(moves)), total)


def _running_best(values: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """The largest value up to each place, and where it stands (the first of equals)."""
    best = np.maximum.accumulate(values)
    new = np.concatenate([[True], best[1:] > best[:-1]])
    return best, np.maximum.accumulate(np.where(new, np.arange(len(values)), 0))


def _best_of_others(values: Floats, at: NDArray[np.int64]) -> tuple[Floats, NDArray[np.int64]]:
    """For each place the largest value of all but itself, and where it stands."""
    first = int(values.argmax())
    others = values.copy()
    others[first] = IMPOSSIBLE
    second = int(others.argmax())
    best, best_at = np.full(len(values), values[first]), np.full(len(values), at[first])
    best[first], best_at[first] = others[second], at[second]
    return best, best_at


def _take(
    score: Floats, state: NDArray[np.int64], offer: Floats, offered: NDArray[np.int64]
) -> None:
    """Take an offer, in place, wherever it is better; of equals the first one stays."""
    better = offer > score
    np.copyto(score, offer, where=better)
    np.copyto(state, offered, where=better)


def _better(
    stay: tuple[Floats, NDArray[np.int64], int], go: tuple[Floats, NDArray[np.int64], int]
) -> tuple[Floats, NDArray[np.int64], NDArray[np.int64]]:
    moves = go[0] > stay[0]
    return (
        np.where(moves, go[0], stay[0]),
        np.where(moves, go[1], stay[1]),
        np.where(moves, go[2], stay[2]),
    )
