"""Find the phrases of the vocabulary that fit a stretch of audio.

The tree is decoded from its root outwards, a level at a time. Beginnings whose evidence falls too
far behind the best of their level, or behind a phrase that has ended, are dropped, so that clear
speech costs a few paths and noisy speech more. What the free transcription resembles is kept
whatever it scores at first.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.speech.decoder import Decoding
from voxlog.speech.vocabulary import Vocabulary

__all__ = ["Beam", "Ending", "Prior", "Search", "score_all"]

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

PRIOR_SHARE = 0.7
"""How much of the score on noise is taken off: 0.7 to 0.85 choose best, all of it makes of every
sound the rarest words (fit scenarios, 5 dB)."""
PRIOR_FLOOR = -7.0
"""Lowest log-probability taken off: a token that is all but impossible on noise would otherwise
gain by any sound."""
NODES_AT_ONCE = 400


class Beam(NamedTuple):
    """How many beginnings of a level are gone on from, and how far behind the best, in nats."""

    width: int
    nats: float


@dataclass(frozen=True, slots=True)
class Prior:
    """What the vocabulary scores where nothing was said, in nats.

    token: (nodes,) each node's token given those before it. end: (nodes,) end of text after it.
    """

    token: Floats
    end: Floats


@dataclass(frozen=True, slots=True)
class Ending:
    """A phrase that was decoded to its end.

    node: of the vocabulary. said: evidence of its words in nats. stop: evidence that the text ends
    there. row, following: where to go on from with another phrase.
    """

    node: int
    said: float
    stop: float
    row: int
    following: Floats


class Search:
    """Looks for the phrases of a vocabulary in one stretch of audio."""

    def __init__(self, decoding: Decoding, vocabulary: Vocabulary, prior: Prior) -> None:
        self._decoding = decoding
        self._vocabulary = vocabulary
        self._prior = prior

    def after(
        self, row: int, following: Floats, beam: Beam, keep: Collection[int] = ()
    ) -> list[Ending]:
        """Phrases that start after a row; ``following`` are the log-probabilities there.

        keep: nodes that are never dropped.
        """
        start = _Front(np.array([0]), np.array([row]), np.zeros(1, np.float32), np.array([0]))
        return [ending for _, ending in self._grow(start, following, beam, keep)]

    def on(
        self, heads: Sequence[Ending], beam: Beam, keep: Collection[int] = ()
    ) -> list[tuple[int, Ending]]:
        """Phrases that go on from others, all of them side by side in one beam.

        keep: nodes that are never dropped. Returns the index of the head with each phrase that
        follows it.
        """
        if not heads:
            return []
        said = np.array([head.said for head in heads], np.float32)
        start = _Front(
            nodes=np.zeros(len(heads), np.int64),
            rows=np.array([head.row for head in heads]),
            evidence=said,
            origin=np.arange(len(heads)),
        )
        following = np.vstack([head.following for head in heads])
        return [
            (head, replace(ending, said=ending.said - float(said[head])))
            for head, ending in self._grow(start, following, beam, keep)
        ]

    def _grow(
        self, front: "_Front", after: Floats, beam: Beam, keep: Collection[int]
    ) -> list[tuple[int, Ending]]:
        """Decode level by level from a front; every phrase that ended, with its origin."""
        vocabulary, prior = self._vocabulary, self._prior
        found: list[tuple[int, Ending]] = []
        kept = np.array(sorted(keep), np.int64)
        least = -np.inf
        while True:
            child, above = _children_of(front.nodes, vocabulary)
            if not len(child):
                return found
            gained = after[above, vocabulary.column[child]] - _taken_off(prior.token[child])
            total = (front.evidence[above] + gained).astype(np.float32)
            chosen = _chosen(total, np.isin(child, kept), beam, least)
            if not len(chosen):
                return found
            nodes, above = child[chosen], above[chosen]
            first = self._decoding.rows
            after = self._decoding.extend(
                vocabulary.token[nodes], front.rows[above], vocabulary.among
            )
            rows = first + np.arange(len(nodes))
            front = _Front(nodes, rows, total[chosen], front.origin[above])
            ended = _ended(front, vocabulary, after, after[:, 0] - _taken_off(prior.end[nodes]))
            found += ended
            least = max([least, *(one.said + one.stop - beam.nats for _, one in ended)])


class _Front(NamedTuple):
    """The nodes reached last: of the vocabulary, their rows, evidence so far, and their head."""

    nodes: Ints
    rows: Ints
    evidence: Floats
    origin: Ints


def _taken_off(on_noise: Floats) -> Floats:
    share: Floats = np.float32(PRIOR_SHARE) * np.maximum(on_noise, np.float32(PRIOR_FLOOR))
    return share


def _ended(
    front: _Front, vocabulary: Vocabulary, after: Floats, stops: Floats
) -> list[tuple[int, Ending]]:
    return [
        (
            int(front.origin[n]),
            Ending(
                node=int(node),
                said=float(front.evidence[n]),
                stop=float(stops[n]),
                row=int(front.rows[n]),
                following=after[n : n + 1],
            ),
        )
        for n, node in enumerate(front.nodes)
        if int(node) in vocabulary.ends
    ]


def _children_of(nodes: Ints, vocabulary: Vocabulary) -> tuple[Ints, Ints]:
    lists = [vocabulary.children[node] for node in nodes]
    if not lists:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    above = np.repeat(np.arange(len(nodes)), [len(one) for one in lists])
    return np.concatenate(lists), above


def _chosen(total: Floats, kept: NDArray[np.bool_], beam: Beam, least: float) -> Ints:
    order = np.argsort(-total, kind="stable")[: beam.width]
    good = order[total[order] >= max(total[order[0]] - beam.nats, least)]
    return np.union1d(good, np.flatnonzero(kept))


def score_all(decode: Callable[[], tuple[Decoding, Floats]], vocabulary: Vocabulary) -> Prior:
    """Decode the whole tree; for the prior on noise.

    decode: starts a decoding with the prompt, and gives what may follow it. A branch of the root
    is decoded by itself, because each node looks at all others of its decoding.
    """
    token = np.zeros(len(vocabulary.token), np.float32)
    end = np.zeros(len(vocabulary.token), np.float32)
    for branches in np.array_split(
        vocabulary.children[0], len(vocabulary.token) // NODES_AT_ONCE + 1
    ):
        decoding, after = decode()
        rows, level, above = np.array([decoding.rows - 1]), branches, np.zeros_like(branches)
        while len(level):
            token[level] = after[above, vocabulary.column[level]]
            first = decoding.rows
            after = decoding.extend(vocabulary.token[level], rows[above], vocabulary.among)
            end[level] = after[:, 0]
            rows = first + np.arange(len(level))
            level, above = _children_of(level, vocabulary)
    return Prior(token, end)
