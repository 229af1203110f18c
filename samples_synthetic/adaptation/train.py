"""Teaches the encoder to make of noisy speech what it makes of the same speech clean.

Only the encoder changes, by matrices of low rank (Hu et al. 2021, arXiv:2106.09685). The targets
are the published model's own outputs for the clean speech (knowledge distillation, Hinton et al.
2015, arXiv:1503.02531): what the decoder listens to, that is the encoding projected to the keys and
values of every layer, and what the decoder then expects after each word of the line. So nothing is
learned about what is likely to be said: what the published model would not expect of the clean
line, it is not taught to expect of the noisy one.
"""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
import optax
from numpy.typing import NDArray

from samples_synthetic.adaptation.decoder import audio_keys, decoder_weights, expected_next
from samples_synthetic.adaptation.encoder import encode, encoder_weights
from samples_synthetic.adaptation.streams import Pair
from voxlog.speech.model import SpeechModel
from voxlog.speech.vocabulary import COMMON_TOKENS

__all__ = ["RANK", "Course", "load_changes", "save_changes", "train"]

RANK = 16
_WARM_UP_SHARE = 0.08
_SILENCE_SHARE = 0.3  # what the silence after the speech counts of what speech counts
_POSITIONS = "position_encodings/encodings"
_LONGEST = {300: 24, 600: 40}
"""Tokens that the words of a cut may have, by the frames of its window; prompt and end apart."""

Changes = dict[str, Any]


class Course(NamedTuple):
    """How many batches, and the rate of learning at its highest."""

    steps: int
    rate: float


class _Text(NamedTuple):
    """Words as the decoder is given them: (batch, length) tokens, and which of the places count."""

    tokens: NDArray[np.int32]
    counts: NDArray[np.float32]


def train(
    speech: SpeechModel,
    words: Sequence[str],
    pairs: Iterator[list[Pair]],
    course: Course,
    changes: Changes | None,
    progress: Callable[[int, float, float], None],
) -> Changes:
    """Changes of the model's encoder after so many batches.

    words: every line that may be in a pair. changes: to go on from; None to begin. progress: called
    with the number of a batch, the share of the clean output's variance that was missed in it, and
    the nats a token that the decoder's expectation is off (Kullback and Leibler 1951).
    """
    model = speech.files.folder / "model.bin"
    weights, decoder = encoder_weights(model), decoder_weights(model)
    keys, among = jnp.asarray(audio_keys(model)), _tokens_among(speech, words)
    changes = changes or _nothing(weights)
    steps, rate = course
    warm_up = int(steps * _WARM_UP_SHARE)
    schedule = optax.warmup_cosine_decay_schedule(0, rate, warm_up, steps, rate / 50)
    optimiser = optax.chain(optax.clip_by_global_norm(1.0), optax.adam(schedule))
    state = optimiser.init(changes)

    @jax.jit
    def target(clean: Any, text: _Text) -> Any:
        encoded = encode(weights, clean)
        return encoded, expected_next(decoder, encoded, text.tokens, among)

    @jax.jit
    def step(
        changes: Changes, state: Any, heard: Any, wanted: Any, frames: Any, text: _Text
    ) -> Any:
        def loss(changes: Changes) -> Any:
            encoded = encode(_changed(weights, changes), heard)
            missed = _missed(encoded, wanted[0], frames, keys)
            expected = expected_next(decoder, encoded, text.tokens, among)
            off = _divergence(wanted[1], expected, text.counts)
            return missed + off, (missed, off)

        (_, parts), slope = jax.value_and_grad(loss, has_aux=True)(changes)
        updates, state = optimiser.update(slope, state, changes)
        return optax.apply_updates(changes, updates), state, parts

    for number in range(1, steps + 1):
        batch = next(pairs)
        heard, clean = np.stack([p.heard for p in batch]), np.stack([p.clean for p in batch])
        frames = np.array([p.frames for p in batch])
        text = _text(speech, [pair.words for pair in batch], _LONGEST[heard.shape[2]])
        wanted = target(clean, text)
        changes, state, (missed, off) = step(changes, state, heard, wanted, frames, text)
        progress(number, float(missed), float(off))
    return changes


def _tokens_among(speech: SpeechModel, words: Sequence[str]) -> Any:
    """What expectations are compared over: as voxlog listens, the common tokens and its own."""
    own = {token for line in words for token in speech.tokens(f" {line}")}
    return jnp.array(sorted({speech.end_of_text, *range(COMMON_TOKENS), *own}))


def _text(speech: SpeechModel, words: Sequence[str], longest: int) -> _Text:
    """Texts after the prompt; a text that is too long counts up to there."""
    first = len(speech.prompt)
    tokens = np.full((len(words), first + longest), speech.end_of_text, np.int32)
    counts = np.zeros(tokens.shape, np.float32)
    for row, line in enumerate(words):
        said = [*speech.prompt, *speech.tokens(f" {line}")][: first + longest]
        tokens[row, : len(said)] = said
        counts[row, first - 1 : len(said)] = 1.0
    return _Text(tokens, counts)


def _missed(found: Any, wanted: Any, frames: Any, keys: Any) -> Any:
    """The share of the variance of keys and values that is missed, over layers and places."""
    is_sound = jnp.arange(found.shape[1])[None] < ((frames + 1) // 2)[:, None]
    share = jnp.where(is_sound, 1.0, _SILENCE_SHARE)[None, :, :, None]
    off = jnp.einsum("bnc,ldc->lbnd", found - wanted, keys)
    spread = jnp.einsum("bnc,ldc->lbnd", wanted - wanted.mean((0, 1)), keys)
    return ((off**2 * share).sum((1, 2, 3)) / (spread**2 * share).sum((1, 2, 3))).mean()


def _divergence(wanted: Any, found: Any, counts: Any) -> Any:
    """Nats a token by which one expectation is off the other, both logarithms."""
    each = (jnp.exp(wanted) * (wanted - found)).sum(-1)
    return (each * counts).sum() / counts.sum()


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
    """What save_changes wrote."""
    with np.load(path) as halves:
        return {
            name.removeprefix("encoder/"): jnp.asarray(halves[name], jnp.float32)
            for name in halves.files
        }
