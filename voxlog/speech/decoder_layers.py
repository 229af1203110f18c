"""The layers of Whisper's text decoder, put together from a model's weights.

All of it but the attention itself, which decoder.py works out tree by tree. What stands between two
attentions is one piece of work, so that nothing is laid out or moved for a single product.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.speech.layers import Layers, Node

__all__ = ["DecoderLayer", "DecoderLayers"]

Floats = NDArray[np.float32]


class DecoderLayer(NamedTuple):
    """What is between a layer's two attentions, and what is after the second.

    between: (state, heard of the tree) to (state, query of the audio). after: (state, heard of the
    audio) to (state, query, key and value of the next layer side by side, or what comes out).
    """

    between: Layers
    after: Layers


class DecoderLayers:
    """The published layers, put together from a model's weights.

    scale: of a query, which is multiplied into the weights that make it.
    """

    def __init__(self, weights: dict[str, Floats], scale: float) -> None:
        self._weights = weights
        self._width = len(weights["layer_norm/gamma"])
        self._count = sum(name.endswith("/self_attention/linear_0/weight") for name in weights)
        self._scale = scale
        self._used: dict[str, Floats] = {}

    def first(self) -> Layers:
        """(state) to the first layer's query, key and value side by side."""
        return self._layers(self._query_key_value("x", "out", 0), ["x"], ["out"])

    def layers(self) -> list[DecoderLayer]:
        """The layers, first to last."""
        return [DecoderLayer(self._between(n), self._after(n)) for n in range(self._count)]

    def audio(self) -> Layers:
        """(encoded audio) to each layer's keys and values side by side."""
        names = [f"both_{n}" for n in range(self._count)]
        nodes = [
            node
            for n, name in enumerate(names)
            for node in self._linear("x", name, f"layer_{n}/attention/linear_1")
        ]
        return self._layers(nodes, ["x"], names)

    def _between(self, n: int) -> Layers:
        own, audio = f"layer_{n}/self_attention", f"layer_{n}/attention"
        nodes = [
            *self._linear("heard", "told", f"{own}/linear_1"),
            Node("Add", ["x", "told"], "state"),
            *self._normed("state", "even", f"{audio}/layer_norm"),
            *self._linear("even", "query", f"{audio}/linear_0", self._scale),
        ]
        return self._layers(nodes, ["x", "heard"], ["state", "query"])

    def _after(self, n: int) -> Layers:
        ffn = f"layer_{n}/ffn"
        nodes = [
            *self._linear("heard", "told", f"layer_{n}/attention/linear_2"),
            Node("Add", ["x", "told"], "middle"),
            *self._normed("middle", "even", f"{ffn}/layer_norm"),
            *self._linear("even", "wide", f"{ffn}/linear_0"),
            Node("Gelu", ["wide"], "bent", domain="com.microsoft"),
            *self._linear("bent", "narrow", f"{ffn}/linear_1"),
            Node("Add", ["middle", "narrow"], "state"),
            *(
                self._query_key_value("state", "out", n + 1)
                if n + 1 < self._count
                else self._normed("state", "out", "layer_norm")
            ),
        ]
        return self._layers(nodes, ["x", "heard"], ["state", "out"])

    def _query_key_value(self, x: str, out: str, n: int) -> list[Node]:
        name = f"layer_{n}/self_attention"
        scale = np.ones(3 * self._width, np.float32)
        scale[: self._width] = self._scale
        return [
            *self._normed(x, f"even {name}", f"{name}/layer_norm"),
            *self._linear(f"even {name}", out, f"{name}/linear_0", scale),
        ]

    def _normed(self, x: str, out: str, name: str) -> list[Node]:
        gamma, beta = f"{name}/gamma", f"{name}/beta"
        self._used |= {one: self._weights[one] for one in (gamma, beta)}
        return [Node("LayerNormalization", [x, gamma, beta], out, {"epsilon": 1e-5})]

    def _linear(self, x: str, out: str, name: str, scale: Floats | float = 1.0) -> list[Node]:
        weight, bias = f"{name}/weight", f"{name}/bias"
        by = np.float32(scale)
        self._used |= {weight: self._weights[weight].T * by, bias: self._weights[bias] * by}
        product = f"product {out}"
        return [Node("MatMul", [x, weight], product), Node("Add", [product, bias], out)]

    def _layers(
        self, nodes: Sequence[Node], inputs: Sequence[str], outputs: Sequence[str]
    ) -> Layers:
        used, self._used = self._used, {}
        return Layers(nodes, used, inputs, outputs)
