"""The parts that Whisper's encoder and decoder are made of, in JAX, for gradients.

Pre-norm transformer blocks (Vaswani et al. 2017; Radford et al. 2022, section 2.2) with the names
that CTranslate2 gives their weights.
"""

from typing import Any

import jax
import jax.numpy as jnp

__all__ = ["HEADS", "LAYERS", "Weights", "attended", "feed_forward", "gelu", "linear", "normed"]

Weights = dict[str, Any]

LAYERS = 4  # of tiny.en: table 1
HEADS = 6
_EPSILON = 1e-5


def attended(query: Any, key: Any, value: Any, is_open: Any = None) -> Any:
    """Attention of HEADS heads, (batch, length, width) each.

    is_open: (to, from) where one place may look at another; None for everywhere.
    """
    heads = [x.reshape(*x.shape[:2], HEADS, -1).transpose(0, 2, 1, 3) for x in (query, key, value)]
    score = heads[0] @ heads[1].transpose(0, 1, 3, 2) / heads[0].shape[-1] ** 0.5
    if is_open is not None:
        score = jnp.where(is_open, score, -1e9)
    heard = jax.nn.softmax(score, -1) @ heads[2]
    return heard.transpose(0, 2, 1, 3).reshape(query.shape)


def feed_forward(x: Any, weights: Weights, name: str) -> Any:
    """What a block's two linear layers add."""
    hidden = linear(normed(x, weights, f"{name}layer_norm/"), weights, f"{name}linear_0/")
    return linear(gelu(hidden), weights, f"{name}linear_1/")


def linear(x: Any, weights: Weights, name: str) -> Any:
    """An affine map, stored as (out, in)."""
    return x @ weights[f"{name}weight"].T + weights[f"{name}bias"]


def normed(x: Any, weights: Weights, name: str) -> Any:
    """Layer normalisation over the width."""
    centred = x - x.mean(-1, keepdims=True)
    scaled = centred * jax.lax.rsqrt((centred**2).mean(-1, keepdims=True) + _EPSILON)
    return scaled * weights[f"{name}gamma"] + weights[f"{name}beta"]


def gelu(x: Any) -> Any:
    """Hendrycks and Gimpel 2016 (arXiv:1606.08415), the exact form."""
    return jax.nn.gelu(x, approximate=False)
