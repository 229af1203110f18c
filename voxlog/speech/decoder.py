"""Whisper's text decoder over a growing tree of tokens.

Phrases with the same beginning share it: the audio is projected to keys and values once, every node
of the tree is decoded once, and a mask lets each node attend to its own ancestors only. The
mathematics is the published decoder's (Radford et al. 2022, "Robust Speech Recognition via
Large-Scale Weak Supervision"; pre-norm transformer, Vaswani et al. 2017); tests hold it against
CTranslate2's own token probabilities.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from voxlog.speech.decoder_layers import DecoderLayers
from voxlog.speech.layers import Layers, Node
from voxlog.speech.lockstep import take_part

__all__ = ["AudioMemory", "Decoder", "Decoding", "Growth"]

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

_WORTH_LEAVING_OUT = 64
"""Rows that no new node looks at, from which the others are taken out before attention."""
_ROOM = 64
"""Rows for which there is room from the start."""


@dataclass(frozen=True, slots=True)
class AudioMemory:
    """An encoded stretch of audio as the decoder's cross-attention wants it.

    For each layer keys (heads, head size, frames) and values (heads, frames, head size).
    """

    keys: tuple[Floats, ...]
    values: tuple[Floats, ...]


@dataclass(frozen=True, slots=True)
class Growth:
    """New nodes of a tree, to be decoded.

    tokens, depth: (new,) their tokens, and how many tokens stand before each. looked_at: rows that
    any of them looks at. blocked: (new, looked at) what is added to attention: 0 for each one's
    ancestors and itself, all but minus infinity elsewhere. keys, values: for each layer those of
    the old nodes; the new ones' are added.
    """

    tokens: Ints
    depth: Ints
    looked_at: Ints | slice
    blocked: Floats
    memory: AudioMemory
    keys: "tuple[_Grown, ...]"
    values: "tuple[_Grown, ...]"


Placed = tuple[Growth, slice]
"""The new nodes of a tree, and where they stand among those of all trees."""


class Decoding:
    """A tree of tokens being decoded over one stretch of audio; it only grows."""

    def __init__(self, decoder: "Decoder", memory: AudioMemory) -> None:
        self._decoder = decoder
        self._memory = memory
        self._seen = np.zeros((0, 0), np.bool_)
        self._depth = np.zeros(0, np.int64)
        self._keys = tuple(_Grown() for _ in memory.keys)
        self._values = tuple(_Grown() for _ in memory.values)

    def start(self, prompt: Sequence[int], among: Ints) -> Floats:
        """Decode the prompt, a chain of tokens; what may follow its last one, as ``extend``."""
        rows = len(prompt)
        self._seen = np.tri(rows, dtype=np.bool_)
        self._depth = np.arange(rows)
        growth = self._growth(np.array(prompt), self._depth, self._seen)
        return take_part(self._decoder.work_of(among), growth)[-1:]

    def extend(self, tokens: Ints, parents: Ints, among: Ints) -> Floats:
        """Decode new nodes under old ones.

        tokens, parents: (new,) token ids, and the rows they stand under; rows count from 0 in the
        order in which nodes were decoded. Returns (new, len(among)) natural logarithms of the
        probability of each token of ``among`` after each new node, normalised over ``among``.
        """
        old, new = len(self._depth), len(tokens)
        seen = np.zeros((new, old + new), np.bool_)
        seen[:, :old] = self._seen[parents]
        seen[np.arange(new), old + np.arange(new)] = True
        depth = self._depth[parents] + 1
        both = np.zeros((old + new, old + new), np.bool_)
        both[:old, :old], both[old:] = self._seen, seen
        self._seen = both
        self._depth = np.concatenate([self._depth, depth])
        work = self._decoder.work_of(among)
        return take_part(work, self._growth(tokens, depth, seen))

    @property
    def rows(self) -> int:
        """How many nodes were decoded."""
        return len(self._depth)

    def depth(self, row: int) -> int:
        """Tokens before this row's."""
        return int(self._depth[row])

    def _growth(self, tokens: Ints, depth: Ints, seen: NDArray[np.bool_]) -> Growth:
        ancestors = np.flatnonzero(seen.any(axis=0))
        rows: Ints | slice = slice(None)
        if seen.shape[1] - len(ancestors) > _WORTH_LEAVING_OUT:
            rows, seen = ancestors, seen[:, ancestors]
        blocked = np.where(seen, np.float32(0), np.float32(-1e9))
        return Growth(tokens, depth, rows, blocked, self._memory, self._keys, self._values)


class _Grown:
    """Rows to which others are added, (heads, rows, head size)."""

    def __init__(self) -> None:
        self._rows = 0
        self._room = np.zeros((0, 0, 0), np.float32)

    def add(self, new: Floats) -> Floats:
        """All rows, with the new ones at the end."""
        heads, more, size = new.shape
        first, self._rows = self._rows, self._rows + more
        if self._rows > self._room.shape[1]:
            room = np.empty((heads, max(_ROOM, 2 * self._rows), size), np.float32)
            if first:
                room[:, :first] = self._room[:, :first]
            self._room = room
        self._room[:, first : self._rows] = new
        return self._room[:, : self._rows]


class Decoder:
    """The decoder's weights and what is done with them.

    table: a row for each token, (tokens, width).
    """

    def __init__(self, weights: dict[str, Floats], table: NDArray[np.float16], heads: int) -> None:
        self._heads = heads
        self._embedding = table
        self._positions = weights["position_encodings/encodings"]
        self._width = self._embedding.shape[1]
        made = DecoderLayers(weights, (self._width // heads) ** -0.5)
        self._first, self._layers, self._audio = made.first(), made.layers(), made.audio()
        self._work: tuple[Ints, Callable[[Sequence[Growth]], list[Floats]]] | None = None

    def listen(self, encoded: Floats) -> AudioMemory:
        """Project encoder output (frames, width) once, for any number of trees."""
        keys, values = [], []
        for both in self._audio(encoded):
            key, value = both[:, : self._width], both[:, self._width :]
            keys.append(np.ascontiguousarray(self._split(key).transpose(0, 2, 1)))
            values.append(self._split(value))
        return AudioMemory(tuple(keys), tuple(values))

    def work_of(self, among: Ints) -> Callable[[Sequence[Growth]], list[Floats]]:
        """What decodes the growth of several trees at once; the same for the same ``among``.

        It gives for each (new, len(among)) natural logarithms of the next token's probability,
        normalised over ``among``.
        """
        held = self._work
        if held is None or held[0] is not among:
            table = self._embedding[among].astype(np.float32).T
            nodes = [Node("MatMul", ["x", "table"], "y"), Node("LogSoftmax", ["y"], "p")]
            layers = Layers(nodes, {"table": table}, ["x"], ["p"])
            held = self._work = (among, partial(self._expected, layers))
        return held[1]

    def _expected(self, likelihood: Layers, growths: Sequence[Growth]) -> list[Floats]:
        placed = list(zip(growths, _rows(growths), strict=True))
        (found,) = likelihood(self._hidden(placed))
        return [found[rows] for _, rows in placed]

    def _hidden(self, placed: Sequence[Placed]) -> Floats:
        """Run the layers over new nodes, those of one tree after those of another."""
        growths = [one for one, _ in placed]
        tokens = np.concatenate([one.tokens for one in growths])
        depth = np.concatenate([one.depth for one in growths])
        x = self._embedding[tokens] + self._positions[depth]
        (following,) = self._first(x)
        for n, layer in enumerate(self._layers):
            x, query = layer.between(x, self._heard_of_tree(following, placed, n))
            x, following = layer.after(x, self._heard_of_audio(query, placed, n))
        return following

    def _heard_of_tree(self, mixed: Floats, placed: Sequence[Placed], layer: int) -> Floats:
        width = self._width
        query, key, value = (self._split(mixed[:, n * width : (n + 1) * width]) for n in range(3))
        heard = np.empty((len(mixed), width), np.float32)
        for one, rows in placed:
            keys = one.keys[layer].add(key[:, rows])
            values = one.values[layer].add(value[:, rows])
            weight = query[:, rows] @ keys[:, one.looked_at].transpose(0, 2, 1)
            weight += one.blocked
            heard[rows] = self._join(_attended(weight, values[:, one.looked_at]))
        return heard

    def _heard_of_audio(self, mixed: Floats, placed: Sequence[Placed], layer: int) -> Floats:
        query = self._split(mixed)
        heard = np.empty_like(mixed)
        for one, rows in placed:
            weight = query[:, rows] @ one.memory.keys[layer]
            heard[rows] = self._join(_attended(weight, one.memory.values[layer]))
        return heard

    def _split(self, x: Floats) -> Floats:
        return x.reshape(len(x), self._heads, -1).transpose(1, 0, 2)

    def _join(self, x: Floats) -> Floats:
        return x.transpose(1, 0, 2).reshape(x.shape[1], -1)


def _rows(growths: Sequence[Growth]) -> list[slice]:
    """Where each tree's new nodes stand among those of all."""
    ends = [0, *accumulate(len(one.tokens) for one in growths)]
    return [slice(first, last) for first, last in pairwise(ends)]


def _attended(weight: Floats, values: Floats) -> Floats:
    """The values by their softmax weights, (heads, rows, head size); ``weight`` is used up."""
    weight -= weight.max(axis=-1, keepdims=True)
    np.exp(weight, out=weight)
    total = weight.sum(axis=-1, keepdims=True)
    heard: Floats = weight @ values
    heard /= total
    return heard
