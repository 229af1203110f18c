import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.burst import Burst
from voxlog.audio.segment import Segment
from voxlog.voice.own_voice import (
    OWN_LIKENESS,
    is_own_sound,
    is_own_voice,
    likeness,
    sort_segments,
)


def samples(seconds: float) -> int:
    return round(seconds * RATE)


def segment(*bursts: tuple[float, float], channel: int = 0) -> Segment:
    """Bursts in seconds, with the padding that segments have."""
    voice = tuple(Burst(samples(start), samples(end)) for start, end in bursts)
    return Segment(channel, voice[0].start - 1600, voice[-1].end + 1600, voice)


SPANS = ((samples(10), samples(12)), (samples(20), samples(23)))


@pytest.mark.parametrize(
    ("bursts", "own"),
    [
        ([(10.0, 12.0)], True),
        ([(10.3, 12.3)], True),  # heard late, by the delay of the devices
        ([(10.3, 10.9), (11.1, 12.3)], True),  # in two bursts
        ([(12.5, 13.5)], False),  # an answer after it; only its first tenth is in the delay
        ([(8.0, 9.9)], False),
        ([(8.0, 11.0)], False),  # somebody was speaking when it began
        ([(11.5, 15.0)], False),  # somebody went on when it was over
        ([(9.8, 12.4)], True),  # a little before is the voice model's soft edge
        ([(10.0, 12.0), (20.0, 23.0)], True),
        ([(10.0, 10.5), (14.0, 17.0)], False),
    ],
)
def test_by_time(bursts: list[tuple[float, float]], own: bool) -> None:
    assert is_own_voice(segment(*bursts), SPANS) is own


def test_spans_that_touch_once_delayed_count_once() -> None:
    touching = ((samples(10), samples(11)), (samples(11), samples(12)))
    assert not is_own_voice(segment((10.0, 15.0)), touching)


def test_without_spans_everything_is_the_crew() -> None:
    some = [segment((1.0, 2.0)), segment((3.0, 4.0))]
    assert sort_segments(some, ()) == (tuple(some), ())


def test_sorting_keeps_the_order_and_every_segment() -> None:
    some = [segment((float(n), n + 0.8), channel=n % 2) for n in range(1, 30)]
    crew, own = sort_segments(some, SPANS)
    assert [s.start // RATE for s in own] == [9, 10, 11, 19, 20, 21, 22]
    assert sorted((*crew, *own), key=lambda s: s.start) == some


def test_a_shorter_delay_is_kept_to() -> None:
    late = segment((12.1, 12.5))
    assert is_own_voice(late, SPANS)
    assert not is_own_voice(late, SPANS, longest_delay=samples(0.05))


# --- by sound -----------------------------------------------------------------------------------


def speech_like(seconds: float, seed: int) -> NDArray[np.float64]:
    """Tones all over an intercom's range, each swelling and fading like syllables."""
    lots = np.random.default_rng(seed)
    time = np.arange(samples(seconds))
    wave = np.zeros(len(time))
    for hertz in np.geomspace(320, 3200, 24):
        knots = lots.uniform(0, 1, round(seconds * 8) + 1) ** 2
        loudness = np.interp(time, np.arange(len(knots)) * RATE / 8, knots)
        wave += 0.03 * loudness * np.sin(2 * np.pi * hertz * time / RATE + lots.uniform(0, 6))
    return wave


def heard(
    played: NDArray[np.float64], delay_s: float, gain: float, noise: float
) -> NDArray[np.int16]:
    lots = np.random.default_rng(99)
    whole = np.zeros(len(played) + samples(0.6))
    start = samples(delay_s)
    whole[start : start + len(played)] = gain * played
    whole += noise * lots.standard_normal(len(whole))
    return np.asarray(np.clip(whole, -1, 1) * 32767, dtype=np.int16)


@pytest.mark.parametrize("delay_s", [0.0, 0.1, 0.35, 0.59])
@pytest.mark.parametrize(("gain", "noise"), [(1.0, 0.0), (0.05, 0.0001), (-0.3, 0.002)])
def test_its_own_sound_is_known_at_any_delay(delay_s: float, gain: float, noise: float) -> None:
    played = speech_like(3.0, seed=1)
    captured = heard(played, delay_s, gain, noise)
    assert likeness(captured, np.asarray(played * 32767, dtype=np.int16)) > OWN_LIKENESS


@pytest.mark.parametrize("seed", range(2, 12))
def test_another_voice_at_the_same_time_is_not(seed: int) -> None:
    played = np.asarray(speech_like(3.0, seed=1) * 32767, dtype=np.int16)
    captured = heard(speech_like(3.0, seed), 0.2, 1.0, 0.001)
    assert likeness(captured, played) < OWN_LIKENESS


@pytest.mark.parametrize("count", [0, 100, 20_000])
def test_silence_and_scraps_are_like_nothing(count: int) -> None:
    played = np.asarray(speech_like(1.0, seed=1) * 32767, dtype=np.int16)
    assert likeness(np.zeros(count, dtype=np.int16), played) == 0.0
    assert likeness(heard(speech_like(1.0, 1), 0.1, 1.0, 0.0), played[:count][:100]) == 0.0


def in_a_room(
    own: NDArray[np.float64] | None, crew: NDArray[np.float64] | None, delay_s: float
) -> NDArray[np.float32]:
    """Four seconds of a channel; the tool speaks from the first second on, the crew from 1.5."""
    whole = 0.0005 * np.random.default_rng(7).standard_normal(samples(4))
    for wave, at in ((own, 1 + delay_s), (crew, 1.5)):
        if wave is not None:
            start = samples(at)
            whole[start : start + len(wave)] += wave[: len(whole) - start]
    return whole.astype(np.float32)


@pytest.mark.parametrize("delay_s", [0.1, 0.35, 0.55])
@pytest.mark.parametrize(
    ("own_gain", "crew_gain", "is_own"),
    [
        (1.0, 0.0, True),  # its own voice alone, loud and soft
        (0.05, 0.0, True),
        (0.0, 1.0, False),  # somebody who speaks meanwhile, into a channel that does not hear it
        (0.1, 1.0, False),  # or hears it 20 dB softer
        (0.3, 1.0, False),
        (1.0, 0.03, True),  # and the crew in its own channel
    ],
)
def test_whoever_speaks_meanwhile_is_not_taken_for_it(
    own_gain: float, crew_gain: float, is_own: bool, delay_s: float
) -> None:
    played, crew = speech_like(2.0, seed=1), speech_like(1.2, seed=5)
    channel = in_a_room(own_gain * played, crew_gain * crew, delay_s)
    where = segment((1.5, 2.7))
    sounds = [(samples(1), np.asarray(played * 32767, dtype=np.int16))]
    assert is_own_voice(where, [(samples(1), samples(3))])
    audio = channel[where.start : where.end]
    assert is_own_sound(where, audio, sounds) is is_own


def test_without_its_sounds_time_alone_tells() -> None:
    where = segment((1.5, 2.7))
    audio = np.zeros(where.end - where.start, np.float32)
    assert is_own_sound(where, audio, [])
    assert is_own_sound(where, audio, [(samples(9), np.ones(1000, np.int16))])
