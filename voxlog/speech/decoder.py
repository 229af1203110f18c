"""Whisper's text decoder over a growing tree of tokens.

Phrases with the same beginning share it: the audio is projected to keys and values once, every node
of the tree is decoded once, and a mask lets each node attend to its own ancestors only. The
mathematics is the published decoder's (Radford et al. 2022, "Robust Speech Recognition via
Large-Scale Weak Supervision"; pre-norm transformer, Vaswani et al. 2017); tests hold it against
CTranslate2's own token probabilities.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["AudioMemory", "Decoder", "Decoding"]

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class AudioMemory:
    """An encoded stretch of audio as the decoder's cross-attention wants it.

    For each layer keys (heads, head size, frames) and values (heads, frames, head size).
    """

    keys: tuple[Floats, ...]
    values: tuple[Floats, ...]


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
        hidden = self._chain(prompt)
        return self._decoder.log_probabilities(hidden[-1:], among)

    def _chain(self, tokens: Sequence[int]) -> Floats:
        rows = len(tokens)
        self._seen = np.tri(rows, dtype=np.bool_)
        self._depth = np.arange(rows)
        return self._hidden(np.array(tokens), self._depth, self._seen)

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
        return self._decoder.log_probabilities(self._hidden(tokens, depth, seen), among)

    @property
    def rows(self) -> int:
        """How many nodes were decoded."""
        return len(self._depth)

    def depth(self, row: int) -> int:
        """Tokens before this row's."""
        return int(self._depth[row])

    def _hidden(self, tokens: Ints, depth: Ints, seen: NDArray[np.bool_]) -> Floats:
        blocked = np.where(seen, np.float32(0), np.float32(-1e9))
        return self._decoder.hidden(tokens, depth, blocked, self._memory, self._keys, self._values)


class Decoder:
    """The decoder's weights and what is done with them."""

    def __init__(self, weights: dict[str, Floats], heads: int) -> None:
        self._w = weights
        self._heads = heads
        self._layers = sum(name.endswith("/self_attention/linear_0/weight") for name in weights)
        self._embedding = weights["embeddings/weight"]
        self._width = self._embedding.shape[1]
        self._table: tuple[Ints, Floats] | None = None

    def listen(self, encoded: Floats) -> AudioMemory:
        """Project encoder output (frames, width) once, for any number of trees."""
        keys, values = [], []
        for layer in range(self._layers):
            both = self._linear(encoded, f"layer_{layer}/attention/linear_1")
            key, value = both[:, : self._width], both[:, self._width :]
            keys.append(np.ascontiguousarray(self._split(key).transpose(0, 2, 1)))
            values.append(self._split(value))
        return AudioMemory(tuple(keys), tuple(values))

    def hidden(
        self,
        tokens: Ints,
        depth: Ints,
        blocked: Floats,
        memory: AudioMemory,
        keys: list[Floats],
        values: list[Floats],
    ) -> Floats:
        """Run the layers over new nodes; ``keys`` and ``values`` of earlier ones are added to."""
        x = self._embedding[tokens] + self._w["position_encodings/encodings"][depth]
        for layer in range(self._layers):
            name = f"layer_{layer}"
            query, key, value = self._query_key_value(x, f"{name}/self_attention")
            if layer == len(keys):
                keys.append(key)
                values.append(value)
            else:
                keys[layer] = np.concatenate([keys[layer], key], axis=1)
                values[layer] = np.concatenate([values[layer], value], axis=1)
            weight = _softmax(query @ keys[layer].transpose(0, 2, 1) * self._scale + blocked)
            x = x + self._linear(
                self._join(weight @ values[layer]), f"{name}/self_attention/linear_1"
            )
            x = x + self._cross_attention(x, memory.keys[layer], memory.values[layer], name)
            x = x + self._feed_forward(x, f"{name}/ffn")
        return self._norm(x, "layer_norm")

    def log_probabilities(self, hidden: Floats, among: Ints) -> Floats:
        """Natural logarithms of the next token's probability, normalised over ``among``."""
        logits = hidden @ self._table_of(among)
        out: Floats = logits - _log_sum(logits)
        return out

    def _table_of(self, among: Ints) -> Floats:
        """The output embedding of some tokens; that asked for last is kept."""
        held = self._table
        if held is None or held[0] is not among:
            held = self._table = (among, np.ascontiguousarray(self._embedding[among].T))
        return held[1]

    def _query_key_value(self, x: Floats, name: str) -> list[Floats]:
        mixed = self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0")
        return [self._split(part) for part in np.split(mixed, 3, axis=1)]

    def _cross_attention(self, x: Floats, key: Floats, value: Floats, name: str) -> Floats:
        name = f"{name}/attention"
        query = self._split(self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0"))
        weight = _softmax(query @ key * self._scale)
        return self._linear(self._join(weight @ value), f"{name}/linear_2")

    def _feed_forward(self, x: Floats, name: str) -> Floats:
        inner = self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0")
        return self._linear(_gelu(inner), f"{name}/linear_1")

    @property
    def _scale(self) -> np.float32:
        return np.float32((self._width // self._heads) ** -0.5)

    def _linear(self, x: Floats, name: str) -> Floats:
        out: Floats = x @ self._w[f"{name}/weight"].T + self._w[f"{name}/bias"]
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
    inner: Floats = np.float32(0.7978845608) * (x + np.float32(0.044715) * x * x * x)
    bent: Floats = np.tanh(inner)
    out: Floats = np.float32(0.5) * x * (np.float32(1) + bent)
    return out
