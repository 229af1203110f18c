"""A voice in 80 bytes: the same for the same sound, of any loudness, and none for too little."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from voxlog.speaker.voiceprint import BANDS, decoded, voiceprint

Floats = NDArray[np.float32]
RATE = 16_000


def noise(seconds: float, low: float = 200.0, high: float = 3400.0, seed: int = 1) -> Floats:
    """Noise between two frequencies in Hz."""
    count = round(seconds * RATE)
    spectrum = np.fft.rfft(np.random.default_rng(seed).normal(0, 0.1, count))
    at = np.fft.rfftfreq(count, 1 / RATE)
    spectrum[(at < low) | (at > high)] *= 0.01
    return np.fft.irfft(spectrum, count).astype(np.float32)


@pytest.mark.parametrize(
    ("stretches", "has_print"),
    [
        ([], False),
        ([noise(0.2)], False),
        ([noise(0.5)], True),
        ([noise(0.01), noise(0.02)], False),
        ([noise(0.2), noise(0.2)], True),
    ],
)
def test_a_print_needs_some_voice(stretches: list[Floats], has_print: bool) -> None:
    found = voiceprint(stretches)
    assert len(found) == (2 * BANDS if has_print else 0)


@pytest.mark.parametrize("factor", [0.01, 0.3, 5.0])
def test_loudness_is_no_part_of_it(factor: float) -> None:
    sound = noise(1.0)
    one, other = decoded(voiceprint([sound])), decoded(voiceprint([sound * np.float32(factor)]))
    np.testing.assert_allclose(one, other, atol=0.041)  # a byte's step


def test_only_the_first_three_seconds_count() -> None:
    sound = noise(3.5)
    longer = np.concatenate([sound, noise(9.0, 2000, 3400)])
    assert voiceprint([longer]) == voiceprint([sound])


def test_sound_is_found_in_the_band_where_it_is() -> None:
    """Band centres of the HTK mel scale: a tone of 1 kHz is the 14th of 40 bands up to 8 kHz.

    2595 log10(1 + 1000 / 700) = 1000 mel; 41 equal steps up to 2840 mel: 69.3 each.
    """
    tone = np.sin(2 * np.pi * 1000 * np.arange(RATE) / RATE).astype(np.float32)
    assert int(np.argmax(decoded(voiceprint([tone]))[:BANDS])) == round(1000 / 69.27) - 1


@given(st.binary(min_size=80, max_size=80))
def test_a_print_is_read_back_to_the_step(print_: bytes) -> None:
    numbers = decoded(print_)
    steps = np.concatenate([numbers[:BANDS] / 0.04, numbers[BANDS:] / 0.01])
    assert np.rint(steps).astype(np.int8).tobytes() == print_
