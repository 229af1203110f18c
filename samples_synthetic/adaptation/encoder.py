"""Whisper's encoder (Radford et al. 2022, section 2.2) in JAX, for gradients.

With the published weights it gives what the encoder of CTranslate2 gives to 3e-5 of values up to
10 (compared once, in single precision).
"""

from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp

from samples_synthetic.adaptation.layers import (
    LAYERS,
    Weights,
    attended,
    feed_forward,
    gelu,
    linear,
    normed,
)
from voxlog.speech.weights import read_weights

__all__ = ["encode", "encoder_weights"]


def encoder_weights(model: Path) -> Weights:
    """The encoder's arrays of a CTranslate2 model file."""
    found = read_weights(model, "encoder/")
    return {name: jnp.asarray(array) for name, array in found.items() if name != "num_heads"}


def encode(weights: Weights, features: Any) -> Any:
    """(batch, 80, frames) log mel features to (batch, frames / 2, width)."""
    x = _convolved(features, weights, "conv1", ("NCH", "OIH", "NHC"), 1)
    x = _convolved(x, weights, "conv2", ("NHC", "OIH", "NHC"), 2)
    x = x + weights["position_encodings/encodings"][: x.shape[1]]
    for layer in range(LAYERS):
        x = x + _self_attention(x, weights, f"layer_{layer}/self_attention/")
        x = x + feed_forward(x, weights, f"layer_{layer}/ffn/")
    return normed(x, weights, "layer_norm/")


def _convolved(x: Any, weights: Weights, name: str, order: Any, stride: int) -> Any:
    x = jax.lax.conv_general_dilated(
        x, weights[f"{name}/weight"], (stride,), ((1, 1),), dimension_numbers=order
    )
    return gelu(x + weights[f"{name}/bias"])


def _self_attention(x: Any, weights: Weights, name: str) -> Any:
    joined = linear(normed(x, weights, f"{name}layer_norm/"), weights, f"{name}linear_0/")
    return linear(attended(*jnp.split(joined, 3, -1)), weights, f"{name}linear_1/")
