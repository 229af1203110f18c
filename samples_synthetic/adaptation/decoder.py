"""Whisper's decoder (Radford et al. 2022, section 2.2) in JAX, to see what it makes of an encoding.

It gives what voxlog/speech/decoder.py gives, but for that one's shorter form of the activation.
"""

from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from numpy.typing import NDArray

from samples_synthetic.adaptation.layers import (
    LAYERS,
    Weights,
    attended,
    feed_forward,
    linear,
    normed,
)
from voxlog.speech.weights import read_weights

__all__ = ["audio_keys", "decoder_weights", "expected_next"]


def decoder_weights(model: Path) -> Weights:
    """The decoder's arrays of a CTranslate2 model file."""
    found = read_weights(model, "decoder/")
    return {name: jnp.asarray(array) for name, array in found.items() if array.ndim}


def audio_keys(model: Path) -> NDArray[np.float32]:
    """What each layer of the decoder makes its keys and values with: (layers, 2 x width, width)."""
    found = read_weights(model, "decoder/")
    return np.stack([found[f"layer_{n}/attention/linear_1/weight"] for n in range(LAYERS)])


def expected_next(weights: Weights, encoded: Any, tokens: Any, among: Any) -> Any:
    """What the decoder expects after each token of a text that it is given.

    encoded: (batch, places, width). tokens: (batch, length) with the prompt. among: token ids.
    Returns (batch, length, len(among)) natural logarithms, normalised over ``among``.
    """
    length = tokens.shape[1]
    x = weights["embeddings/weight"][tokens] + weights["position_encodings/encodings"][:length]
    earlier = jnp.tri(length, dtype=bool)
    for layer in range(LAYERS):
        x = x + _self_attention(x, weights, f"layer_{layer}/self_attention/", earlier)
        x = x + _audio_attention(x, encoded, weights, f"layer_{layer}/attention/")
        x = x + feed_forward(x, weights, f"layer_{layer}/ffn/")
    score = normed(x, weights, "layer_norm/") @ weights["embeddings/weight"][among].T
    return jax.nn.log_softmax(score, -1)


def _self_attention(x: Any, weights: Weights, name: str, earlier: Any) -> Any:
    joined = linear(normed(x, weights, f"{name}layer_norm/"), weights, f"{name}linear_0/")
    return linear(attended(*jnp.split(joined, 3, -1), earlier), weights, f"{name}linear_1/")


def _audio_attention(x: Any, encoded: Any, weights: Weights, name: str) -> Any:
    query = linear(normed(x, weights, f"{name}layer_norm/"), weights, f"{name}linear_0/")
    key, value = jnp.split(linear(encoded, weights, f"{name}linear_1/"), 2, -1)
    return linear(attended(query, key, value), weights, f"{name}linear_2/")
