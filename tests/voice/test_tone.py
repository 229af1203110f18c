import numpy as np
import pytest

from voxlog.voice.tone import LEVEL, NOTES_HZ, silence, tone

RATES = [8_000, 16_000, 24_000, 44_100, 48_000]


@pytest.mark.parametrize("rate", RATES)
def test_it_is_short_and_not_loud(rate: int) -> None:
    samples = tone(rate)
    assert samples.dtype == np.int16
    assert 0.2 <= len(samples) / rate <= 0.3
    assert np.max(np.abs(samples)) <= LEVEL * 32767 + 1


@pytest.mark.parametrize("rate", RATES)
def test_it_does_not_click(rate: int) -> None:
    """A click is a step of the wave or of its slope, beyond what the highest note itself has."""
    wave = np.concatenate([[0.0], tone(rate).astype(np.float64), [0.0]])
    turn = 2 * np.pi * max(NOTES_HZ) / rate
    assert np.max(np.abs(np.diff(wave))) <= 1.05 * LEVEL * 32767 * turn
    assert np.max(np.abs(np.diff(wave, 2))) <= 1.3 * LEVEL * 32767 * turn**2


@pytest.mark.parametrize("rate", RATES)
def test_it_has_its_two_notes_and_little_else(rate: int) -> None:
    samples = tone(rate).astype(np.float64)
    power = np.abs(np.fft.rfft(samples)) ** 2
    hertz = np.fft.rfftfreq(len(samples), 1 / rate)
    near = np.min(np.abs(hertz[:, np.newaxis] - np.array(NOTES_HZ)), axis=1) < 60
    assert power[near].sum() / power.sum() > 0.99


def test_silence() -> None:
    assert silence(0.15, 24_000).tolist() == [0] * 3_600
