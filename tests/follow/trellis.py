"""The follower's cost model written out as a graph, for a library that knows nothing of it.

Every state after every utterance is a node, every move an edge with the price that `Prices`
documents. No running maxima, no sharing: it is slow and plain, and SciPy finds the shortest way
through it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra

from voxlog.follow.alignment import Emission, Move, Prices

__all__ = ["Edge", "Model", "State", "cost_of", "least_cost"]


class State(NamedTuple):
    """Where a run stands: place 0 is before the first step, place n is step n - 1."""

    place: int
    is_open: bool


START = State(0, is_open=False)


class Edge(NamedTuple):
    """One move of one utterance: where to, which move, and what it costs in nats."""

    target: State
    move: Move
    cost: float


@dataclass(frozen=True)
class Model:
    """What a move costs."""

    steps: int
    prices: Prices
    cues: Sequence[int] = ()
    groups: Sequence[Sequence[int]] = ()

    @property
    def states(self) -> list[State]:
        return [
            START,
            *(State(place, is_open) for place in range(1, self.steps + 1) for is_open in (0, 1)),
        ]

    def moves(self, state: State, heard: Emission) -> Iterator[Edge]:
        """Every way on from a state."""
        price = self.prices
        yield Edge(state, "side", price.side - heard.side)
        for step in range(self.steps):
            place = step + 1
            ask, answer = -heard.ask[step], -heard.answer[step]
            if place != state.place:
                jump = self._jump(state.place, place) + self._leaving(state)
                unasked = 0.0 if step in self.cues else price.unasked
                yield Edge(State(place, is_open=True), "ask", ask + jump)
                yield Edge(State(place, is_open=False), "answer", answer + jump + unasked)
            elif state.is_open:
                yield Edge(State(place, is_open=True), "ask", ask + price.again)
                yield Edge(State(place, is_open=False), "answer", answer)
            else:
                yield Edge(State(place, is_open=True), "ask", ask + price.redo)
                more = 0.0 if heard.corrects else price.more
                yield Edge(State(place, is_open=False), "answer", answer + more)
        for step, evidence in heard.resume.items():
            cost = self._leaving(state) + price.resume - evidence
            yield Edge(State(step, is_open=False), "resume", cost)

    def ending(self, state: State) -> float:
        """What the end of the recording costs in a state."""
        return self._leaving(state)

    def _leaving(self, state: State) -> float:
        return self.prices.unanswered if state.is_open else 0.0

    def _jump(self, here: int, there: int) -> float:
        price = self.prices
        ways = [price.far]
        if there < here:
            ways.append(price.back)
        if there == here - 1:
            ways.append(price.swap)
        group, other = self._group_of(here), self._group_of(there)
        if group == other and len(group) > 1:
            ways.append(price.together)
        # Within a group places count; from or to another step the edges of the groups do.
        edges = (
            [(here, there)] if group == other else [(here, min(other)), (max(group), min(other))]
        )
        for left, entered in [(here, there), *edges]:
            skipped = entered - left - 1
            if skipped >= 0:
                ways.append(price.skip_first + (skipped - 1) * price.skip_more if skipped else 0.0)
        return min(ways)

    def _group_of(self, place: int) -> tuple[int, ...]:
        """The places of the steps that may be done in any order with this one."""
        for group in self.groups:
            if place - 1 in group:
                return tuple(step + 1 for step in group)
        return (place,)


def least_cost(model: Model, heard: Sequence[Emission]) -> float:
    """The cost of the shortest way from the start through all utterances to the end.

    All ways have as many edges, so that a constant on each changes nothing but that no edge is
    negative, which Dijkstra's algorithm asks for.
    """
    states = model.states
    number = {state: index for index, state in enumerate(states)}
    goal = (len(heard) + 1) * len(states)
    edges: dict[tuple[int, int], float] = {}
    for time, emission in enumerate(heard):
        for state in states:
            source = time * len(states) + number[state]
            for edge in model.moves(state, emission):
                target = (time + 1) * len(states) + number[edge.target]
                edges[source, target] = min(edge.cost, edges.get((source, target), np.inf))
    for state in states:
        edges[len(heard) * len(states) + number[state], goal] = model.ending(state)
    lift = 1.0 - min(edges.values())
    sources, targets = np.array(list(edges)).T
    costs = np.array(list(edges.values())) + lift
    graph = coo_array((costs, (sources, targets)), shape=(goal + 1, goal + 1)).tocsr()
    found = dijkstra(graph, indices=number[START])[goal]
    return float(found) - lift * (len(heard) + 1)


def cost_of(model: Model, heard: Sequence[Emission], moves: Sequence[tuple[Move, int]]) -> float:
    """The cost of one course, move by move."""
    state, total = START, 0.0
    for emission, (move, step) in zip(heard, moves, strict=True):
        target = {
            "side": state,
            "ask": State(step + 1, is_open=True),
            "answer": State(step + 1, is_open=False),
            "resume": State(step, is_open=False),
        }[move]
        total += min(
            edge.cost
            for edge in model.moves(state, emission)
            if edge.move == move and edge.target == target
        )
        state = target
    return total + model.ending(state)
