"""Changed voices, measured by Praat: the effect is WORLD's, the yardstick is not."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import lfilter, welch

from samples_synthetic.synthesiser import RATE
from samples_synthetic.voicing import joined, revoiced

pytest.importorskip("pyworld", reason="needs the [changed-voices] extra, and so a C compiler")
parselmouth = pytest.importorskip("parselmouth", reason="needs the [test] extra")

PITCH_HZ = 120.0
FORMANTS_HZ = (500.0, 1500.0, 2500.0)  # a neutral vowel of a vocal tract of 17 cm (Fant 1960)


def vowel(seconds: float = 1.0) -> NDArray[np.int16]:
    """A source-filter vowel with a known pitch and known formants."""
    period = np.arange(int(seconds * RATE)) * PITCH_HZ / RATE
    wave = np.diff(np.floor(period), prepend=0.0)  # glottal pulses
    wave = lfilter([1], [1, -0.95], wave)
    for hertz in FORMANTS_HZ:
        radius = np.exp(-np.pi * 80 / RATE)
        wave = lfilter([1], [1, -2 * radius * np.cos(2 * np.pi * hertz / RATE), radius**2], wave)
    return np.asarray(np.round(wave / np.abs(wave).max() * 15_000), dtype=np.int16)


def pitch_of(clip: NDArray[np.int16]) -> float:
    sound = parselmouth.Sound(clip / 32768, RATE)
    found = sound.to_pitch(pitch_floor=75, pitch_ceiling=400).selected_array["frequency"]
    return float(np.median(found[found > 0]))


def formants_of(clip: NDArray[np.int16], highest: float) -> list[float]:
    sound = parselmouth.Sound(clip / 32768, RATE)
    track = sound.to_formant_burg(max_number_of_formants=3, maximum_formant=highest)
    times = np.linspace(0.2, 0.8, 31)
    return [float(np.median([track.get_value_at_time(n, t) for t in times])) for n in (1, 2, 3)]


@pytest.mark.parametrize("factor", [0.8, 1.0, 1.25, 1.5])
def test_pitch_is_raised_by_the_factor_and_formants_stay(factor: float) -> None:
    made = revoiced(vowel(), pitch=factor)
    assert pitch_of(made) == pytest.approx(PITCH_HZ * factor, rel=0.01)
    assert formants_of(made, 3000) == pytest.approx(FORMANTS_HZ, rel=0.08)


@pytest.mark.parametrize("factor", [0.85, 1.0, 1.15, 1.3])
def test_formants_are_raised_by_the_factor_and_pitch_stays(factor: float) -> None:
    made = revoiced(vowel(), formants=factor)
    expected = [hertz * factor for hertz in FORMANTS_HZ]
    assert formants_of(made, 3000 * factor) == pytest.approx(expected, rel=0.08)
    assert pitch_of(made) == pytest.approx(PITCH_HZ, rel=0.01)


def test_strain_is_so_many_decibels_an_octave_above_a_kilohertz() -> None:
    plain, strained = revoiced(vowel(4)), revoiced(vowel(4), strain=6.0)
    frequency, before = welch(plain.astype(float), RATE, nperseg=4096)
    after = welch(strained.astype(float), RATE, nperseg=4096)[1]

    def gain(low: float, high: float) -> float:
        band = (frequency > low) & (frequency < high)
        return 10 * float(np.log10(after[band].sum() / before[band].sum()))

    near_four, near_two, below = gain(3900, 4100), gain(1950, 2050), gain(300, 800)
    assert near_two - below == pytest.approx(6, abs=1.2)
    assert near_four - near_two == pytest.approx(6, abs=1.2)


def test_words_keep_their_length_and_loudness() -> None:
    clip = vowel()
    made = revoiced(clip, 1.25, 1.3, 4.0)
    assert len(made) == len(clip)
    rms = [np.sqrt(np.mean((wave / 32768) ** 2)) for wave in (clip, made)]
    assert rms[1] == pytest.approx(rms[0], rel=0.02)


def test_the_same_clip_gives_the_same_samples() -> None:
    clip = vowel(0.3)
    assert np.array_equal(revoiced(clip, 1.25), revoiced(clip, 1.25))


def test_pieces_are_joined_with_a_breath_between_and_none_at_the_ends() -> None:
    pieces = [np.full(n, n, np.int16) for n in (100, 200, 300)]
    line = joined(pieces)
    assert np.array_equal(joined(pieces[:1]), pieces[0])
    assert len(line) == 600 + 2 * int(0.35 * RATE)
    assert line[0] == 100
    assert line[-1] == 300
