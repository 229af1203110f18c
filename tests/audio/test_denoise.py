"""Steady noise goes, the voice stays, and nothing depends on how the audio was cut."""

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.audio.denoise import Denoiser, quantile

RATE = 16_000


def denoised(samples: NDArray[np.float32], block: int) -> NDArray[np.float32]:
    denoiser = Denoiser()
    parts = [denoiser.push(samples[i : i + block]) for i in range(0, len(samples), block)]
    return np.concatenate([*parts, denoiser.finish()])


def noise(seconds: float) -> NDArray[np.float32]:
    count = round(seconds * RATE)
    return 0.02 * np.random.default_rng(7).standard_normal(count).astype(np.float32)


def tones(seconds: float) -> NDArray[np.float32]:
    """Bursts of 0.3 s each second, harmonics of 150 Hz as a voice has them, from 3 s on."""
    time = np.arange(round(seconds * RATE)) / RATE
    voice = sum(np.sin(2 * np.pi * 150 * k * time) / k for k in range(2, 12))
    return (0.1 * voice * ((time % 1 < 0.3) & (time >= 3))).astype(np.float32)


@pytest.mark.parametrize("block", [1, 255, 512, 16_000, 77_777])
def test_the_cut_into_blocks_changes_nothing(block: int) -> None:
    samples = (noise(2.5) + tones(2.5))[: 40_000 if block > 1 else 3_000]
    assert np.array_equal(denoised(samples, block), denoised(samples, len(samples)))


@pytest.mark.parametrize("count", [0, 1, 255, 256, 257, 511, 512, 513, 40_001])
def test_as_many_samples_come_out_as_went_in(count: int) -> None:
    assert len(denoised(noise(3)[:count], 1000)) == count


def test_noise_loses_five_decibels_and_the_voice_less_than_one() -> None:
    voice, hiss = tones(12), noise(12)
    out = denoised(voice + hiss, 30 * RATE)
    said = voice != 0
    late = np.arange(len(voice)) > 4 * RATE
    left = out[late & ~said].std() / hiss[late & ~said].std()
    kept = (out[said & late] * voice[said & late]).sum() / (voice[said & late] ** 2).sum()
    assert 20 * np.log10(left) < -5
    assert 20 * np.log10(kept) > -1


def test_silence_stays_silence() -> None:
    assert not denoised(np.zeros(40_000, np.float32), 1000).any()


@pytest.mark.parametrize("share", [0.0, 0.3, 0.75, 0.999])
@pytest.mark.parametrize("rows", [2, 13, 125])
def test_a_quantile_is_that_of_numpy(rows: int, share: float) -> None:
    power = np.random.default_rng(rows).exponential(1, (rows, 40)).astype(np.float32)
    found = quantile(power, share)
    assert found.dtype == np.float32
    assert np.allclose(found, np.quantile(power, share, axis=0), rtol=1e-5)
