"""What a sheet's vocabulary scores on noise, computed once for a sheet and a model and kept."""

import hashlib
import os
from contextlib import suppress
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from voxlog.speech.decoder import AudioMemory, Decoding
from voxlog.speech.model import SpeechModel
from voxlog.speech.search import Prior, score_all
from voxlog.speech.vocabulary import Vocabulary

__all__ = ["noise_memories", "prior_of"]

Floats = NDArray[np.float32]

NOISE_SEEDS = (11, 12)
NOISE_SECONDS = 2.0
NOISE_LEVEL = 0.02
ARITHMETIC = 2
"""Raised when the decoder comes to score otherwise: a kept prior was made by one of these."""


def noise_memories(model: SpeechModel) -> tuple[AudioMemory, ...]:
    """A few stretches of band-limited pink noise, encoded: audio in which nothing is said."""
    return tuple(model.listen(model.encode(_pink(seed))) for seed in NOISE_SEEDS)


def _pink(seed: int) -> Floats:
    """Noise that falls 3 dB an octave, in the telephone band of 300 to 3400 Hz."""
    count = int(16000 * NOISE_SECONDS)
    hertz = np.fft.rfftfreq(count, 1 / 16000)
    shape = np.where((hertz >= 300) & (hertz <= 3400), 1 / np.sqrt(np.maximum(hertz, 1)), 0)
    white = np.fft.rfft(np.random.default_rng(seed).standard_normal(count))
    noise = np.fft.irfft(white * shape, count)
    levelled: Floats = (noise * NOISE_LEVEL / noise.std()).astype(np.float32)
    return levelled


def prior_of(
    vocabulary: Vocabulary, model: SpeechModel, noises: tuple[AudioMemory, ...], cache: Path
) -> Prior:
    """The vocabulary's mean log-probabilities on noise, from ``cache`` if they are there."""
    file = cache / "priors" / f"{_key(vocabulary, model)}.npz"
    try:
        with file.open("rb") as stream, np.load(stream) as kept:
            return Prior(kept["token"], kept["end"])
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        pass
    prior = _mean([_score(vocabulary, model, noise) for noise in noises])
    _keep(prior, file)
    return prior


def _score(vocabulary: Vocabulary, model: SpeechModel, noise: AudioMemory) -> Prior:
    def decode() -> tuple[Decoding, Floats]:
        decoding = model.decoding(noise)
        return decoding, decoding.start(vocabulary.prompt, vocabulary.among)

    return score_all(decode, vocabulary)


def _mean(priors: list[Prior]) -> Prior:
    return Prior(
        np.mean([one.token for one in priors], axis=0, dtype=np.float32),
        np.mean([one.end for one in priors], axis=0, dtype=np.float32),
    )


def _key(vocabulary: Vocabulary, model: SpeechModel) -> str:
    digest = hashlib.sha256(model.files.sha256.encode())
    for part in (vocabulary.token, vocabulary.parent, vocabulary.among):
        digest.update(part.tobytes())
    digest.update(repr((NOISE_SEEDS, NOISE_SECONDS, NOISE_LEVEL, ARITHMETIC)).encode())
    return digest.hexdigest()[:32]


def _keep(prior: Prior, file: Path) -> None:
    """Keep the prior for next time; a full or read-only disk only costs the time again."""
    part = file.with_suffix(f".{os.getpid()}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as stream:
            np.savez(stream, token=prior.token, end=prior.end)
        part.rename(file)
    except OSError:
        with suppress(OSError):
            part.unlink()
