"""Teaches the encoder to make of noisy speech what it makes of the same speech clean.

Only the encoder changes, by matrices of low rank (Hu et al. 2021, arXiv:2106.09685), and it is
never told any words: the target is its own output for the clean speech, as far as the decoder
listens to it, that is projected to the keys and values of every layer (knowledge distillation,
Hinton et al. 2015, arXiv:1503.02531). So nothing is learned about what is likely to be said.
"""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
import optax

from samples_synthetic.adaptation.encoder import audio_keys, encode, encoder_weights
from samples_synthetic.adaptation.streams import Pair

__all__ = ["RANK", "load_changes", "save_changes", "train"]

RANK = 16
_WARM_UP_SHARE = 0.08
_SILENCE_SHARE = 0.1  # what the silence after the speech counts of what speech counts
_POSITIONS = "position_encodings/encodings"

Changes = dict[str, Any]


def train(
    model: Path,
    pairs: Iterator[list[Pair]],
    steps: int,
    rate: float,
    changes: Changes | None,
    progress: Callable[[int, float], None],
) -> Changes:
    """Changes of the model's encoder after so many batches.

    rate: of learning, at its highest. changes: to go on from; None to begin. progress: called with
    the number of a batch and the share of the clean output's variance that was missed in it.
    """
    weights, keys = encoder_weights(model), jnp.asarray(audio_keys(model))
    changes = changes or _nothing(weights)
    schedule = optax.warmup_cosine_decay_schedule(
        0, rate, int(steps * _WARM_UP_SHARE), steps, rate / 50
    )
    optimiser = optax.chain(optax.clip_by_global_norm(1.0), optax.adam(schedule))
    state = optimiser.init(changes)
    target = jax.jit(lambda clean: encode(weights, clean))

    @jax.jit
    def step(changes: Changes, state: Any, heard: Any, wanted: Any, frames: Any) -> Any:
        def loss(changes: Changes) -> Any:
            return _missed(encode(_changed(weights, changes), heard), wanted, frames, keys)

        value, slope = jax.value_and_grad(loss)(changes)
        updates, state = optimiser.update(slope, state, changes)
        return optax.apply_updates(changes, updates), state, value

    for number in range(1, steps + 1):
        batch = next(pairs)
        heard, clean = np.stack([p.heard for p in batch]), np.stack([p.clean for p in batch])
        frames = np.array([p.frames for p in batch])
        changes, state, value = step(changes, state, heard, target(clean), frames)
        progress(number, float(value))
    return changes


def _missed(found: Any, wanted: Any, frames: Any, keys: Any) -> Any:
    """The share of the variance of keys and values that is missed, over layers and places."""
    is_sound = jnp.arange(found.shape[1])[None] < ((frames + 1) // 2)[:, None]
    share = jnp.where(is_sound, 1.0, _SILENCE_SHARE)[None, :, :, None]
    off = jnp.einsum("bnc,ldc->lbnd", found - wanted, keys)
    spread = jnp.einsum("bnc,ldc->lbnd", wanted - wanted.mean((0, 1)), keys)
    return ((off**2 * share).sum((1, 2, 3)) / (spread**2 * share).sum((1, 2, 3))).mean()


def _nothing(weights: dict[str, Any]) -> Changes:
    rng = np.random.default_rng(0)
    changes: Changes = {}
    for name, array in weights.items():
        if name == _POSITIONS:
            continue
        if array.ndim == 1:
            changes[name] = jnp.zeros_like(array)
        else:
            out, into = array.shape[0], int(np.prod(array.shape[1:]))
            right = rng.standard_normal((RANK, into)) / np.sqrt(into)
            changes[f"{name}.left"] = jnp.zeros((out, RANK))
            changes[f"{name}.right"] = jnp.asarray(right, jnp.float32)
    return changes


def _changed(weights: dict[str, Any], changes: Changes) -> dict[str, Any]:
    changed = dict(weights)
    for key, change in changes.items():
        name, _, side = key.partition(".")
        if side == "left":
            full = change @ changes[f"{name}.right"]
            changed[name] = weights[name] + full.reshape(weights[name].shape)
        elif not side:
            changed[name] = weights[name] + change
    return changed


def save_changes(path: Path, changes: Changes) -> None:
    """As voxlog reads them: half precision, by the names that the whole model has for them."""
    halves = {f"encoder/{name}": np.asarray(array, np.float16) for name, array in changes.items()}
    np.savez_compressed(path, **halves)


def load_changes(path: Path) -> Changes:
    with np.load(path) as halves:
        return {
            name.removeprefix("encoder/"): jnp.asarray(halves[name], jnp.float32)
            for name in halves.files
        }
