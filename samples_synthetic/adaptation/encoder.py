"""Whisper's encoder (Radford et al. 2022, section 2.2) in JAX, for gradients.

With the published weights it gives what the encoder of CTranslate2 gives to 3e-5 of values up to
10 (compared once, in single precision).
"""

from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from numpy.typing import NDArray

from voxlog.speech.weights import read_weights

__all__ = ["HEADS", "LAYERS", "audio_keys", "encode", "encoder_weights"]

Weights = dict[str, Any]

LAYERS = 4  # of tiny.en: table 1
HEADS = 6
_EPSILON = 1e-5


def encoder_weights(model: Path) -> Weights:
    """The encoder's arrays of a CTranslate2 model file."""
    found = read_weights(model, "encoder/")
    return {name: jnp.asarray(array) for name, array in found.items() if name != "num_heads"}


def audio_keys(model: Path) -> NDArray[np.float32]:
    """What each layer of the decoder makes its keys and values with: (layers, 2 x width, width)."""
    found = read_weights(model, "decoder/")
    return np.stack([found[f"layer_{n}/attention/linear_1/weight"] for n in range(LAYERS)])


def encode(weights: Weights, features: Any) -> Any:
    """(batch, 80, frames) log mel features to (batch, frames / 2, width)."""
    x = _convolved(features, weights, "conv1", ("NCH", "OIH", "NHC"), 1)
    x = _convolved(x, weights, "conv2", ("NHC", "OIH", "NHC"), 2)
    x = x + weights["position_encodings/encodings"][: x.shape[1]]
    for layer in range(LAYERS):
        x = x + _attention(x, weights, f"layer_{layer}/self_attention/")
        x = x + _feed_forward(x, weights, f"layer_{layer}/ffn/")
    return _normed(x, weights, "layer_norm/")


def _convolved(x: Any, weights: Weights, name: str, order: Any, stride: int) -> Any:
    x = jax.lax.conv_general_dilated(
        x, weights[f"{name}/weight"], (stride,), ((1, 1),), dimension_numbers=order
    )
    return _gelu(x + weights[f"{name}/bias"])


def _attention(x: Any, weights: Weights, name: str) -> Any:
    batch, length, width = x.shape
    joined = _linear(_normed(x, weights, f"{name}layer_norm/"), weights, f"{name}linear_0/")
    query, key, value = (
        part.reshape(batch, length, HEADS, -1).transpose(0, 2, 1, 3)
        for part in jnp.split(joined, 3, -1)
    )
    share = jax.nn.softmax(query @ key.transpose(0, 1, 3, 2) / (width / HEADS) ** 0.5, -1)
    heard = (share @ value).transpose(0, 2, 1, 3).reshape(batch, length, width)
    return _linear(heard, weights, f"{name}linear_1/")


def _feed_forward(x: Any, weights: Weights, name: str) -> Any:
    hidden = _linear(_normed(x, weights, f"{name}layer_norm/"), weights, f"{name}linear_0/")
    return _linear(_gelu(hidden), weights, f"{name}linear_1/")


def _linear(x: Any, weights: Weights, name: str) -> Any:
    return x @ weights[f"{name}weight"].T + weights[f"{name}bias"]


def _normed(x: Any, weights: Weights, name: str) -> Any:
    off = x - x.mean(-1, keepdims=True)
    scaled = off * jax.lax.rsqrt((off**2).mean(-1, keepdims=True) + _EPSILON)
    return scaled * weights[f"{name}gamma"] + weights[f"{name}beta"]


def _gelu(x: Any) -> Any:
    return jax.nn.gelu(x, approximate=False)
