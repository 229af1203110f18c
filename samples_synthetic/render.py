"""Placed clips to one recording: the intercom's band, noise, cross-talk and clipping.

Speech over noise is set exactly: the mean power of the band-limited speech over the samples where
somebody speaks (the active speech level of ITU-T Rec. P.56, with the activity known instead of
estimated) over the mean power of the band-limited noise in the whole recording.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfiltfilt

from samples_synthetic.noise import breathing, compressor
from samples_synthetic.synthesiser import RATE

__all__ = [
    "Mix",
    "Placed",
    "Sound",
    "active_power",
    "heard_part",
    "render",
    "to_band",
    "to_int16",
]

_BAND_HZ = (300.0, 3400.0)  # the telephone band, as in ITU-T Rec. G.712
_CEILING = 0.25  # the loudest sample, -12 dB of full scale: a careful recordist's headroom
_TAIL_S = 2.0
_FRAME = RATE // 100
_HEARD_DB = 35.0  # under the loudest 10 ms of a clip by more than this is not heard


@dataclass(frozen=True, slots=True)
class Placed:
    """A clip in time: from which channel, the first sample's number, its samples."""

    channel: int
    start: int
    clip: NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Sound:
    """How the recording is to sound.

    speech_over_noise: dB, None for no noise at all.
    breathing: dB of breathing noise over compressor noise, None for none.
    clip: dB by which the peaks are cut off, None for none; noise is measured before clipping.
    cross_talk: dB by which a voice is weaker on the other channels, None for not at all.
    """

    speech_over_noise: float | None = None
    breathing: float | None = -6.0
    clip: float | None = None
    cross_talk: float | None = None


@dataclass(frozen=True, slots=True)
class Mix:
    """A rendered recording and what it was summed from, each samples x channels, full scale 1."""

    recording: NDArray[np.int16]
    speech: NDArray[np.float64]
    noise: NDArray[np.float64]
    active: NDArray[np.bool_]


def render(placed: Sequence[Placed], channels: int, sound: Sound, seed: int) -> Mix:
    """Mix the clips onto so many channels (1 for a mono intercom)."""
    samples = max(p.start + len(p.clip) for p in placed) + int(_TAIL_S * RATE)
    speech = np.zeros((samples, channels))
    active = np.zeros((samples, channels), dtype=np.bool_)
    for one in placed:
        channel = min(one.channel, channels - 1)
        speech[one.start : one.start + len(one.clip), channel] += one.clip / 32768
        active[one.start : one.start + len(one.clip), channel] = True
    speech = to_band(_leak(speech, sound.cross_talk))
    noise = _noise(speech, active, sound, seed)
    return Mix(to_int16(_clipped(speech + noise, sound.clip)), speech, noise, active)


def heard_part(clip: NDArray[np.int16]) -> tuple[int, int]:
    """First and last sample of a clip that can be heard on the intercom.

    A soft hiss or hum at either end lies outside the band: a listener, and so the truth, has the
    words start after it.
    """
    quiet = np.zeros(RATE // 10)  # keeps the filter's own edges out of the clip
    wave = to_band(np.concatenate([quiet, clip / 32768, quiet])[:, np.newaxis])
    wave = wave[len(quiet) : -len(quiet), 0]
    frames = len(wave) // _FRAME
    power = np.mean(wave[: frames * _FRAME].reshape(frames, _FRAME) ** 2, axis=1)
    heard = np.flatnonzero(power > power.max() * 10 ** (-_HEARD_DB / 10))
    return int(heard[0]) * _FRAME, min(len(clip), int(heard[-1] + 1) * _FRAME)


def active_power(speech: NDArray[np.float64], active: NDArray[np.bool_]) -> float:
    """Mean power of one channel's speech over the samples where it is active."""
    return float(np.mean(speech[active] ** 2)) if active.any() else 0.0


def _leak(speech: NDArray[np.float64], cross_talk: float | None) -> NDArray[np.float64]:
    if cross_talk is None or speech.shape[1] == 1:
        return speech
    leak = 10 ** (-cross_talk / 20)
    everyone = speech.sum(axis=1, keepdims=True)
    return np.asarray(speech + leak * (everyone - speech), dtype=np.float64)


def _noise(
    speech: NDArray[np.float64], active: NDArray[np.bool_], sound: Sound, seed: int
) -> NDArray[np.float64]:
    if sound.speech_over_noise is None:
        return np.zeros_like(speech)
    samples, channels = speech.shape
    # A position that says nothing still has a noisy channel: it gets the mean level of the others.
    level = [active_power(speech[:, c], active[:, c]) for c in range(channels)]
    usual = float(np.mean([power for power in level if power > 0]))
    noise = np.empty_like(speech)
    for channel in range(channels):
        rng = np.random.default_rng((seed, channel))
        wave = compressor(samples, rng)
        if sound.breathing is not None:
            wave += 10 ** (sound.breathing / 20) * breathing(samples, rng)
        wave = to_band(wave[:, np.newaxis])[:, 0]
        wanted = (level[channel] or usual) / 10 ** (sound.speech_over_noise / 10)
        noise[:, channel] = wave * np.sqrt(wanted / np.mean(wave**2))
    return noise


def to_band(wave: NDArray[np.float64]) -> NDArray[np.float64]:
    """Keep the intercom's band, without shifting anything in time."""
    sos = butter(4, _BAND_HZ, btype="bandpass", fs=RATE, output="sos")
    return np.asarray(sosfiltfilt(sos, wave, axis=0), dtype=np.float64)


def _clipped(wave: NDArray[np.float64], clip: float | None) -> NDArray[np.float64]:
    if clip is None:
        return wave
    limit = float(np.abs(wave).max()) / 10 ** (clip / 20)
    return np.clip(wave, -limit, limit)


def to_int16(wave: NDArray[np.float64]) -> NDArray[np.int16]:
    """Samples with the loudest at a careful recordist's level."""
    peak = float(np.abs(wave).max())
    return np.asarray(np.round(wave / peak * _CEILING * 32767), dtype=np.int16)
