"""Blocks become a stream at 16 kHz whose count is the time."""

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.audio.sounds import tone
from tests.capture.blocks import RATE, blocks_of, noise
from voxlog.audio.resample import to_16k
from voxlog.capture.block import Block
from voxlog.capture.feed import Feed


def feed(rate: int, blocks: Sequence[Block]) -> NDArray[np.float32]:
    stream = Feed(len(blocks[0].samples), rate)
    parts = [part for block in blocks for part in stream.push(block)]
    assert max(part.shape[1] for part in parts) <= 160_100
    return np.concatenate([*parts, stream.finish()], axis=1)


def test_16_khz_is_passed_on_bit_for_bit() -> None:
    samples = noise(3, 10_001)
    assert np.array_equal(feed(RATE, list(blocks_of(samples))) * 32768, samples)


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_other_rates_become_what_a_file_of_them_becomes(rate: int) -> None:
    whole = np.rint(tone(2, rate, 2) * 32768).astype(np.int16)
    expected = np.concatenate(list(to_16k(iter([whole.astype(np.float32) / 32768]), rate, 2)))
    got = feed(rate, list(blocks_of(whole.T, rate // 20)))
    assert got.shape == (2, 32_000)
    assert np.abs(got.T - expected).max() < 1e-6


@pytest.mark.parametrize("rate", [16_000, 48_000])
@pytest.mark.parametrize("lost_seconds", [0.25, 10, 3601])
def test_what_was_lost_is_silence(rate: int, lost_seconds: float) -> None:
    lost = round(lost_seconds * rate)
    one, other = noise(1, rate, 1), noise(1, rate, 2)
    got = feed(rate, [Block(one, 0, 0, 0), Block(other, rate + lost, 0, 0, lost)])
    assert got.shape[1] == pytest.approx((2 + lost_seconds) * 16_000, abs=1)
    inside = got[0, 16_100 : 16_000 + round(lost_seconds * 16_000) - 100]
    assert np.abs(inside).max() < 1e-3
    assert np.abs(got[0, -15_000:]).max() > 0.1
