"""What microphone and radio do, measured back."""

import numpy as np
import pytest

from samples_synthetic.line import low_passed, squelched
from samples_synthetic.synthesiser import RATE


@pytest.mark.parametrize("corner", [1000.0, 1500.0, 2500.0])
def test_a_tone_at_the_corner_is_3_decibels_down_and_24_an_octave_above(corner: float) -> None:
    """A Butterworth filter of order n: 3 dB at the corner, 6 n dB an octave far above it.

    Nearer than far above, |H|^2 = 1 / (1 + (f / fc)^2n), here with the bilinear transform's
    warped frequencies (Oppenheim and Schafer, from memory).
    """

    def gain(hertz: float) -> float:
        tone = np.sin(2 * np.pi * hertz / RATE * np.arange(RATE))
        return 20 * float(np.log10(np.std(low_passed(tone, corner)[RATE // 4 :]) / np.std(tone)))

    def warped(hertz: float) -> float:
        return float(np.tan(np.pi * hertz / RATE))

    ratio = (warped(2 * corner) / warped(corner)) ** 8
    assert gain(corner) == pytest.approx(-3.01, abs=0.05)
    assert gain(corner / 4) == pytest.approx(0, abs=0.05)
    assert gain(2 * corner) == pytest.approx(-10 * np.log10(1 + ratio), abs=0.1)


def test_a_squelch_opens_late_closes_with_a_hiss_and_is_silent_between_calls() -> None:
    wave = np.ones(10 * RATE)
    spoken = [(RATE, 3 * RATE), (int(3.2 * RATE), 4 * RATE), (7 * RATE, 8 * RATE)]
    heard = squelched(wave, spoken, np.full(len(wave), -0.5), np.random.default_rng(3))
    for start, end in ((RATE, 4 * RATE), (7 * RATE, 8 * RATE)):  # two of the three are one call
        words = np.flatnonzero(heard[start - RATE // 2 : end] == 1)
        cut = (words[0] - RATE // 2) / RATE
        tail = np.count_nonzero(heard[end : end + RATE] == -0.5) / RATE
        assert 0.06 <= cut <= 0.14
        assert 0.15 <= tail <= 0.3
        assert np.all(heard[start + words[0] - RATE // 2 : end] == 1)
    assert np.count_nonzero(heard == 0) > 5.5 * RATE


def test_a_squelch_at_the_end_of_the_recording_has_the_hiss_that_there_is_room_for() -> None:
    wave = np.ones(RATE)
    heard = squelched(wave, [(0, RATE - 10)], np.full(RATE, -0.5), np.random.default_rng(3))
    assert np.all(heard[-10:] == -0.5)
