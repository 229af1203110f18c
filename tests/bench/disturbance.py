"""What may be wrong with a recording, to set how sure a row is; nothing is ever reported on it.

Other kinds than those of `samples_synthetic/setting.py`, by which figures are reported, or the same
kind at another strength; other voices (`FIT`) talk in the background, and no people.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Final

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, lfilter, resample_poly, sosfilt

from samples_synthetic.clips import speak_all
from samples_synthetic.recording import make_recording
from samples_synthetic.render import to_band, to_int16
from samples_synthetic.scenario import Scenario
from samples_synthetic.setting import Setting
from samples_synthetic.speak import Clip
from samples_synthetic.synthesiser import RATE, Line
from samples_synthetic.voices import FIT
from voxlog.log.table import write_table

__all__ = ["DISTURBANCES", "Disturbance", "disturb"]

Wave = NDArray[np.float64]
Change = Callable[[Wave, np.random.Generator], Wave]

_STORY = (
    "the road along the coast was closed after the storm and nobody knew for how long",
    "his grandmother kept bees behind the orchard and sold the honey in small green jars",
    "they walked as far as the old mill before the rain began to come down in earnest",
    "she had promised to write every week and for the first month she did",
    "a heron stood in the shallows and took no notice of the children on the bank",
    "the bread came out of the oven at four and the whole street smelled of it",
    "there was a map on the wall with a pin for every place his brother had been",
    "nobody in the village could remember a winter in which the lake had frozen so hard",
    "he sold the boat in the spring and bought a piano that he never learned to play",
    "the train was late again and the waiting room was full of wet umbrellas",
    "it was the custom then to leave the door unlocked until the last guest had gone",
    "she counted the money twice and put it under the loose board beside the stove",
    "the dog slept in the sun and lifted one ear whenever a cart went by",
    "by the time the letter arrived the matter had been settled for three days",
    "they painted the kitchen yellow because it was the only colour the shop had left",
    "the teacher drew a circle on the board and asked who could see the moon in it",
    "in the afternoon the wind turned and the smoke from the hills came down to the town",
    "he had a way of telling a story so that you forgot you had heard it before",
)

_ANOTHER_NET = (
    "seven to yard",
    "yard go ahead seven",
    "two trucks at gate nineteen",
    "copied two at nineteen",
    "is the crane free",
    "not before ten past four",
    "send forty five over to the north side",
    "north side is full try three",
    "stand by one",
    "say again for yard",
    "sixty eight tons on the scale",
    "sixty eight that is correct",
    "who has the keys",
    "the keys are with twelve",
    "all clear on the ramp",
    "hold the next one at the line",
    "eleven thirty and counting",
    "thank you out",
)


@dataclass(frozen=True, slots=True)
class Disturbance:
    """A setting of its own, who else talks, and what is done to the mixed channel.

    voices: how many talk in the background at once. pause_s: their silence after each clip.
    lines: what they say. A setting with `talk="people"` has them all along.
    """

    setting: Setting
    voices: int = 1
    pause_s: float = 0.0
    lines: Sequence[str] = _STORY
    change: Change | None = None


def disturb(scenario: Scenario, disturbance: Disturbance, place: Path) -> None:
    """Render into a folder: audio.flac, truth.csv and, last, scenario.yaml."""
    talk = _talk(disturbance) if disturbance.setting.talk else ()
    mix, truth = make_recording(
        scenario, None, lambda done, of: None, disturbance.setting, people=talk
    )
    wave = (mix.speech + mix.noise)[:, 0]
    if disturbance.change is not None:
        wave = disturbance.change(wave, np.random.default_rng((scenario.seed, 1)))
    place.mkdir(parents=True, exist_ok=True)
    soundfile.write(place / "audio.flac", to_int16(wave[:, np.newaxis]), RATE, subtype="PCM_16")
    write_table(place / "truth.csv", truth)
    (place / "scenario.yaml").write_text(scenario.text, encoding="utf-8")


def _talk(disturbance: Disturbance) -> Sequence[Clip]:
    """What the others say: each clip as many voices at once as the disturbance has."""
    lines = [Line(FIT[n % len(FIT)], 1.0, f"{text}.") for n, text in enumerate(disturbance.lines)]
    spoken = speak_all(lines, lambda done, of: None)
    clips = [spoken[line].astype(np.int32) for line in lines]
    pause = np.zeros(int(disturbance.pause_s * RATE), dtype=np.int32)
    return [
        np.concatenate([_together(clips, first, disturbance.voices), pause]).astype(np.int16)
        for first in range(len(clips))
    ]


def _together(clips: Sequence[NDArray[np.int32]], first: int, voices: int) -> NDArray[np.int32]:
    """A clip with the ones that follow it in the list, summed, as long as the first."""
    total = np.zeros(len(clips[first]), dtype=np.int32)
    for n in range(voices):
        part = clips[(first + n) % len(clips)][: len(total)]
        total[: len(part)] += part // voices
    return total


def _reverberant(wave: Wave, rng: np.random.Generator) -> Wave:
    """A hard room: noise that falls by 60 dB in 0.9 s, as loud as the voice itself."""
    samples = int(0.9 * RATE)
    tail = rng.standard_normal(samples) * 10 ** (-3 * np.arange(samples) / samples)
    tail[: int(0.004 * RATE)] = 0
    room = tail / np.sqrt(np.sum(tail**2))
    room[0] = 1.0
    return np.asarray(fftconvolve(wave, room)[: len(wave)], dtype=np.float64)


def _packets_lost(wave: Wave, rng: np.random.Generator) -> Wave:
    """Frames of 20 ms, one in nine missing, two or three in a row (Gilbert's model)."""
    frame = RATE // 50
    kept = np.ones(len(wave))
    is_lost = False
    for start in range(0, len(wave), frame):
        is_lost = rng.random() < (0.6 if is_lost else 0.05)
        if is_lost:
            kept[start : start + frame] = 0
    return wave * kept


def _fading(wave: Wave, rng: np.random.Generator) -> Wave:
    """A radio path that comes and goes, by up to 24 dB every six seconds, under steady hiss."""
    seconds = np.arange(len(wave)) / RATE
    depth = 12 * (1 + np.sin(2 * np.pi * seconds / 6 + rng.uniform(0, 2 * np.pi)))
    return wave * 10 ** (-depth / 20) + _hiss(wave, rng, 20)


def _clipped(wave: Wave, rng: np.random.Generator) -> Wave:
    """An overdriven amplifier: everything 26 dB under the loudest sample is cut off."""
    limit = float(np.abs(wave).max()) / 10 ** (26 / 20)
    return np.clip(wave, -limit, limit)


def _without_lows(wave: Wave, rng: np.random.Generator) -> Wave:
    """A throat set with a dead element: a fourth-order high-pass at 1,100 Hz."""
    return np.asarray(
        sosfilt(butter(4, 1100, "highpass", fs=RATE, output="sos"), wave), dtype=np.float64
    )


def _coded(wave: Wave, rng: np.random.Generator) -> Wave:
    """A line at 13 kbit/s: the full-rate speech coder of GSM (ETSI EN 300 961)."""
    file = BytesIO()
    peak = float(np.abs(wave).max())
    soundfile.write(file, resample_poly(wave / peak / 2, 1, 2), 8000, "GSM610", format="WAV")
    file.seek(0)
    heard = resample_poly(soundfile.read(file)[0], 2, 1) * peak * 2
    return np.pad(heard, (0, max(0, len(wave) - len(heard))))[: len(wave)]


def _echoed(wave: Wave, rng: np.random.Generator) -> Wave:
    """A loop that feeds back: all comes again after 0.22 s, and again, 7 dB weaker each time."""
    heard = wave.copy()
    for nth in (1, 2, 3):
        late = nth * int(0.22 * RATE)
        heard[late:] += 10 ** (-7 * nth / 20) * wave[:-late]
    return heard


def _crackling(wave: Wave, rng: np.random.Generator) -> Wave:
    """A worn connector: ten times a second, on the mean, 10 to 60 ms of crackle and no speech."""
    heard, loud = wave.copy(), float(np.sqrt(np.mean(wave**2)))
    at = 0
    while (at := at + int(rng.exponential(0.1) * RATE)) < len(wave):
        part = heard[at : at + int(rng.uniform(0.01, 0.06) * RATE)]
        part[:] = 3 * loud * rng.standard_normal(len(part))
        at += len(part)
    return heard


def _under_an_alarm(wave: Wave, rng: np.random.Generator) -> Wave:
    """A pump's alarm: three pulses of 0.15 s with harmonics, every 2.2 s, 9 dB over the rest."""
    seconds = np.arange(len(wave)) / RATE
    is_on = ((seconds % 2.2) < 0.9) & ((seconds % 0.3) < 0.15)
    overtones = np.arange(1, 4)[:, np.newaxis]
    tone = np.sum(np.sin(2 * np.pi * 660 * overtones * seconds) / overtones, axis=0) * is_on
    loud = float(np.sqrt(np.mean(wave**2) / np.mean(tone[is_on] ** 2)))
    return wave + 10 ** (9 / 20) * loud * to_band(tone)


def _levelled(wave: Wave, rng: np.random.Generator) -> Wave:
    """A gain that follows the level within 0.3 s: noise comes up in every pause."""
    step = 1 / (0.3 * RATE)
    level = np.sqrt(lfilter([step], [1, step - 1], wave**2)) + 0.02 * float(np.abs(wave).max())
    return np.asarray(wave / level, dtype=np.float64)


def _hissing(wave: Wave, rng: np.random.Generator) -> Wave:
    return wave + _hiss(wave, rng, 7)


def _hiss(wave: Wave, rng: np.random.Generator, over: float) -> Wave:
    """White noise in the intercom's band, weaker by so many dB than all of the wave."""
    hiss = to_band(rng.standard_normal(len(wave)))
    return np.asarray(
        hiss * np.sqrt(np.mean(wave**2) / np.mean(hiss**2) / 10 ** (over / 10)), dtype=np.float64
    )


DISTURBANCES: Final[Mapping[str, Disturbance]] = {
    "none": Disturbance(Setting(over=25)),
    "noise-13": Disturbance(Setting(over=13)),
    "noise-0": Disturbance(Setting(over=0)),
    "noise-minus-3": Disturbance(Setting(over=-3)),
    "hiss": Disturbance(Setting(), change=_hissing),
    "talk-14": Disturbance(Setting(over=25, talk="people", talk_over=14)),
    "talk-6": Disturbance(Setting(over=25, talk="people", talk_over=6)),
    "talk-now-and-then": Disturbance(Setting(over=15, talk="people", talk_over=2), pause_s=7),
    "babble": Disturbance(Setting(over=25, talk="people", talk_over=4), voices=4),
    "reverberation": Disturbance(Setting(over=20), change=_reverberant),
    "low-pass": Disturbance(Setting(over=10, low_pass=1050)),
    "high-pass": Disturbance(Setting(over=15), change=_without_lows),
    "clipped": Disturbance(Setting(over=12), change=_clipped),
    "packets-lost": Disturbance(Setting(over=20), change=_packets_lost),
    "fading": Disturbance(Setting(over=15), change=_fading),
    "rate-200": Disturbance(Setting(over=8, rate=200)),
    "rate-260": Disturbance(Setting(over=15, rate=260)),
    "coded": Disturbance(Setting(over=7), change=_coded),
    "echo": Disturbance(Setting(over=20), change=_echoed),
    "crackle": Disturbance(Setting(over=20), change=_crackling),
    "alarm": Disturbance(Setting(over=20), change=_under_an_alarm),
    "levelled": Disturbance(Setting(over=3), change=_levelled),
    "another-net": Disturbance(
        Setting(over=20, talk="people", talk_over=8), pause_s=1, lines=_ANOTHER_NET
    ),
}
"""Name to disturbance; what each is like was chosen by how much of it is understood."""
