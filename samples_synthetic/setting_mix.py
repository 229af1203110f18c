"""Placed clips to one recording under a setting: microphone, room, radio and line, in this order.

Levels as in `render.py`: mean power of the band-limited speech while somebody speaks, over the mean
power of what is under it; of other talk, while that is heard. Hum is added last and has its own
band, since it comes in behind everything else.
"""

from collections.abc import Iterator, Sequence
from itertools import cycle

import numpy as np
from numpy.typing import NDArray

from samples_synthetic.line import low_passed, squelched
from samples_synthetic.machinery import fan, hum
from samples_synthetic.noise import breathing, compressor
from samples_synthetic.render import Mix, Placed, Sound, active_power, render, to_band, to_int16
from samples_synthetic.setting import Setting
from samples_synthetic.synthesiser import RATE
from voxlog.errors import InputError

__all__ = ["render_setting"]

Wave = NDArray[np.float64]
Clips = Sequence[NDArray[np.int16]]

_TALKED_OVER = 3  # every third line
_TALK_FROM_S = (0.0, 0.5)  # after the line began
_TALK_PAUSE_S = (0.5, 3.0)
_BREATHING = 10 ** (-6 / 20)  # as in the shipped scenarios


def render_setting(placed: Sequence[Placed], setting: Setting, seed: int, talk: Clips = ()) -> Mix:
    """Mix the clips onto one channel. talk: clips of the other people of `setting.talk`."""
    plain = render(placed, 1, Sound(), seed)
    speech, active = plain.speech[:, 0], plain.active[:, 0]
    if setting.low_pass is not None:
        speech = low_passed(speech, setting.low_pass)
    power = active_power(speech, active)
    rng = np.random.default_rng((seed, 0))
    under = _noise(setting, power, len(speech), rng)
    under += _talk(setting, power, placed, talk, len(speech), rng)
    heard = speech + under
    if setting.is_squelched:
        spoken = [(one.start, one.start + len(one.clip)) for one in placed]
        hiss = _at(to_band(rng.standard_normal(len(speech))), power, 0)
        heard = squelched(heard, spoken, hiss, rng)
    if setting.hum is not None:
        weaker = np.sqrt(power / 10 ** (setting.hum_over / 10))
        heard = heard + weaker * hum(len(speech), rng, setting.hum)
    recording = to_int16(heard[:, np.newaxis])
    return Mix(recording, speech[:, np.newaxis], (heard - speech)[:, np.newaxis], plain.active)


def _noise(setting: Setting, power: float, samples: int, rng: np.random.Generator) -> Wave:
    if setting.over is None:
        return np.zeros(samples)
    if setting.noise == "fan":
        wave = fan(samples, rng)
    else:
        wave = compressor(samples, rng) + _BREATHING * breathing(samples, rng)
    return _at(to_band(wave), power, setting.over)


def _talk(
    setting: Setting,
    power: float,
    placed: Sequence[Placed],
    talk: Clips,
    samples: int,
    rng: np.random.Generator,
) -> Wave:
    if setting.talk is None:
        return np.zeros(samples)
    if not talk:
        raise InputError(f"setting with other talk ({setting.talk}): no clips of it; give some")
    wave = np.zeros(samples)
    starts = _across(placed, rng) if setting.talk == "crew" else _along(talk, samples, rng)
    for start, clip in zip(starts, cycle(talk), strict=False):
        part = clip[: samples - start] / 32768
        wave[start : start + len(part)] += part
    return _at(to_band(wave), power, setting.talk_over, wave != 0)


def _across(placed: Sequence[Placed], rng: np.random.Generator) -> Iterator[int]:
    lines = sorted(one.start for one in placed)
    for start in lines[::_TALKED_OVER]:
        yield start + int(rng.uniform(*_TALK_FROM_S) * RATE)


def _along(talk: Clips, samples: int, rng: np.random.Generator) -> Iterator[int]:
    at = 0
    for clip in cycle(talk):
        at += int(rng.uniform(*_TALK_PAUSE_S) * RATE)
        if at >= samples:
            return
        yield at
        at += len(clip)


def _at(wave: Wave, power: float, over: float, active: NDArray[np.bool_] | None = None) -> Wave:
    """A wave made weaker than `power` by `over` dB, measured where it is active."""
    now = float(np.mean((wave if active is None else wave[active]) ** 2))
    return np.asarray(wave * np.sqrt(power / 10 ** (over / 10) / now), dtype=np.float64)
