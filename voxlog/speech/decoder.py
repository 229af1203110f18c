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

from voxlog.speech.lockstep import take_part

__all__ = ["AudioMemory", "Decoder", "Decoding", "Growth"]

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]


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

    tokens, depth: (new,) their tokens, and how many tokens stand before each. blocked: (new, old +
    new) what is added to attention: 0 for each one's ancestors and itself, all but minus infinity
    elsewhere. keys, values: for each layer those of the old nodes; the new ones' are added.
    """

    tokens: Ints
    depth: Ints
    blocked: Floats
    memory: AudioMemory
    keys: list[Floats]
    values: list[Floats]


class Decoding:
    """A tree of tokens being decoded over one stretch of audio; it only grows."""

    def __init__(self, decoder: "Decoder", memory: AudioMemory) -> None:
        self._decoder = decoder
        self._memory = memory
        self._seen = np.zeros((0, 0), np.bool_)
        self._depth = np.zeros(0, np.int64)
        self._keys: list[Floats] = []
        self._values: list[Floats] = []

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
        self._seen = np.vstack([np.pad(self._seen, ((0, 0), (0, new))), seen])
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
        blocked = np.where(seen, np.float32(0), np.float32(-1e9))
        return Growth(tokens, depth, blocked, self._memory, self._keys, self._values)


class Decoder:
    """The decoder's weights and what is done with them."""

    def __init__(self, weights: dict[str, Floats], heads: int) -> None:
        self._w = {name: _as_multiplied(name, array) for name, array in weights.items()}
        self._heads = heads
        self._layers = sum(name.endswith("/self_attention/linear_0/weight") for name in weights)
        self._embedding = weights["embeddings/weight"]
        self._width = self._embedding.shape[1]
        self._work: tuple[Ints, Callable[[Sequence[Growth]], list[Floats]]] | None = None

    def listen(self, encoded: Floats) -> AudioMemory:
        """Project encoder output (frames, width) once, for any number of trees."""
        keys, values = [], []
        for layer in range(self._layers):
            both = self._linear(encoded, f"layer_{layer}/attention/linear_1")
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
            table = np.ascontiguousarray(self._embedding[among].T)
            held = self._work = (among, partial(self._expected, table))
        return held[1]

    def _expected(self, table: Floats, growths: Sequence[Growth]) -> list[Floats]:
        logits = self._hidden(growths) @ table
        logits -= _log_sum(logits)
        return [logits[rows] for rows in _rows(growths)]

    def _hidden(self, growths: Sequence[Growth]) -> Floats:
        """Run the layers over new nodes, those of one tree after those of another."""
        tokens = np.concatenate([one.tokens for one in growths])
        depth = np.concatenate([one.depth for one in growths])
        x = self._embedding[tokens] + self._w["position_encodings/encodings"][depth]
        for layer in range(self._layers):
            x = x + self._self_attention(x, growths, layer)
            x = x + self._cross_attention(x, growths, layer)
            x = x + self._feed_forward(x, f"layer_{layer}/ffn")
        return self._norm(x, "layer_norm")

    def _self_attention(self, x: Floats, growths: Sequence[Growth], layer: int) -> Floats:
        name = f"layer_{layer}/self_attention"
        query, key, value = self._query_key_value(x, name)
        heard = []
        for one, rows in zip(growths, _rows(growths), strict=True):
            keys = _added(one.keys, layer, key[:, rows])
            values = _added(one.values, layer, value[:, rows])
            weight = _softmax(query[:, rows] @ keys.transpose(0, 2, 1) * self._scale + one.blocked)
            heard.append(self._join(weight @ values))
        return self._linear(np.concatenate(heard), f"{name}/linear_1")

    def _cross_attention(self, x: Floats, growths: Sequence[Growth], layer: int) -> Floats:
        name = f"layer_{layer}/attention"
        query = self._split(self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0"))
        heard = []
        for one, rows in zip(growths, _rows(growths), strict=True):
            weight = _softmax(query[:, rows] @ one.memory.keys[layer] * self._scale)
            heard.append(self._join(weight @ one.memory.values[layer]))
        return self._linear(np.concatenate(heard), f"{name}/linear_2")

    def _query_key_value(self, x: Floats, name: str) -> list[Floats]:
        mixed = self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0")
        return [self._split(part) for part in np.split(mixed, 3, axis=1)]

    def _feed_forward(self, x: Floats, name: str) -> Floats:
        inner = self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0")
        return self._linear(_gelu(inner), f"{name}/linear_1")

    @property
    def _scale(self) -> np.float32:
        return np.float32((self._width // self._heads) ** -0.5)

    def _linear(self, x: Floats, name: str) -> Floats:
        out: Floats = x @ self._w[f"{name}/weight"]
        out += self._w[f"{name}/bias"]
        return out

    def _norm(self, x: Floats, name: str) -> Floats:
        centred = x - x.mean(axis=1, keepdims=True)
        spread = np.sqrt((centred * centred).mean(axis=1, keepdims=True) + np.float32(1e-5))
        out: Floats = centred / spread * self._w[f"{name}/gamma"] + self._w[f"{name}/beta"]
        return out

    def _split(self, x: Floats) -> Floats:
        return x.reshape(len(x), self._heads, -1).transpose(1, 0, 2)

    def _join(self, x: Floats) -> Floats:
        return x.transpose(1, 0, 2).reshape(x.shape[1], -1)


def _as_multiplied(name: str, array: Floats) -> Floats:
    """A linear layer's weights as (in, out): a product with few rows is a quarter quicker so."""
    return np.ascontiguousarray(array.T) if "/linear_" in name else array


def _rows(growths: Sequence[Growth]) -> list[slice]:
    """Where each tree's new nodes stand among those of all."""
    ends = [0, *accumulate(len(one.tokens) for one in growths)]
    return [slice(first, last) for first, last in pairwise(ends)]


def _added(held: list[Floats], layer: int, new: Floats) -> Floats:
    """A layer's keys or values with those of new nodes, which are kept."""
    if layer == len(held):
        held.append(new)
    else:
        held[layer] = np.concatenate([held[layer], new], axis=1)
    return held[layer]


def _log_sum(x: Floats) -> Floats:
    """Logarithm of the sum of exponentials along each row, (rows, 1)."""
    top = x.max(axis=1, keepdims=True)
    out: Floats = top + np.log(np.exp(x - top).sum(axis=1, keepdims=True))
    return out


def _softmax(x: Floats) -> Floats:
    x = np.exp(x - x.max(axis=-1, keepdims=True))
    out: Floats = x / x.sum(axis=-1, keepdims=True)
    return out


def _gelu(x: Floats) -> Floats:
    """Hendrycks and Gimpel 2016 (arXiv 1606.08415), tanh form: within 0.001 of the exact one."""
    bent = x * x
    bent *= np.float32(0.044715)
    bent += np.float32(1)
    bent *= x
    bent *= np.float32(0.7978845608)
    np.tanh(bent, out=bent)
    bent += np.float32(1)
    bent *= x
    bent *= np.float32(0.5)
    return bent
