"""Resampling as a stream: the count, the place and the shape of what comes out."""

from collections.abc import Iterator

import numpy as np
import pytest
from scipy.signal import resample_poly

from tests.audio.sounds import tone
from voxlog.audio.resample import to_16k

RATES = [8_000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 88_200, 96_000, 192_000]


def portions(samples: np.ndarray, size: int) -> Iterator[np.ndarray]:
    return (samples[first : first + size] for first in range(0, len(samples), size))


def resampled(samples: np.ndarray, rate: int, size: int = 4096) -> np.ndarray:
    return np.concatenate(list(to_16k(portions(samples, size), rate, samples.shape[1])))


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("seconds", [0.01, 1.0, 7.77])
def test_the_count_is_exact_within_one(rate: int, seconds: float) -> None:
    samples = tone(seconds, rate, channels=2)
    assert abs(len(resampled(samples, rate)) - len(samples) * 16_000 / rate) <= 1


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("size", [1, 1000, 4096])
def test_the_cut_into_blocks_changes_nothing(rate: int, size: int) -> None:
    samples = tone(0.2 if size == 1 else 2.0, rate, channels=2)
    whole = resampled(samples, rate, size=len(samples))
    assert np.array_equal(resampled(samples, rate, size), whole)


@pytest.mark.parametrize("rate", RATES)
def test_a_click_stays_where_it_was(rate: int) -> None:
    samples = np.zeros((2 * rate, 1), dtype=np.float32)
    samples[rate] = 1.0
    assert np.abs(resampled(samples, rate)[:, 0]).argmax() == 16_000


@pytest.mark.parametrize(
    ("rate", "up", "down"), [(48_000, 1, 3), (44_100, 160, 441), (8_000, 2, 1)]
)
def test_the_sound_is_that_of_another_resampler(rate: int, up: int, down: int) -> None:
    """A tone in the band, against SciPy's polyphase filter; 20 ms at each end left out."""
    samples = tone(2.0, rate, frequency=1000.0)
    ours, theirs = resampled(samples, rate)[:, 0], resample_poly(samples[:, 0], up, down)
    assert np.abs(ours - theirs[: len(ours)])[320:-320].max() < 0.002


@pytest.mark.slow
@pytest.mark.parametrize("rate", [11_025, 44_100])
def test_six_hours_neither_drift_nor_fill_memory(rate: int) -> None:
    """Only counts: the block is the same array each time."""
    second = tone(1.0, rate)
    count = sum(map(len, to_16k((second for _ in range(6 * 3600)), rate, 1)))
    assert abs(count - 6 * 3600 * 16_000) <= 1
