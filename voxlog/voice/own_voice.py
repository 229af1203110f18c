"""Which captured speech is the tool's own voice, so that it is not taken for the crew's. Pure.

The tool knows when it spoke. What a channel picked up in that time, a little later for the delay
of output and input, may be its own voice, unless most of it lies outside: somebody who began before
or went on after is kept (`is_own_voice`). So is whoever spoke at the same time, because that does
not sound like what was played (`is_own_sound`).
"""

from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.segment import Segment

__all__ = [
    "LONGEST_DELAY",
    "OWN_LIKENESS",
    "Sorted",
    "is_own_sound",
    "is_own_voice",
    "likeness",
    "sort_segments",
]

LONGEST_DELAY: Final = RATE * 6 // 10
"""Samples from a span's start until a channel has it: 0.1 s asked of each device, and room."""

OWN_LIKENESS: Final = 0.7
"""From here on (0 to 1) a channel's sound is what was played.

Of seven answers, picked up 20 dB softer with noise 10 dB under them, all are 0.86 or more; another
answer of the same voice is up to 0.50, a crew's speech (285 places of the practice recording) 0.43.
"""

PART_LIKENESS: Final = 0.55
"""The same for a segment that was picked up, against what was played around it.

Of 144 segments of seven answers in a small room, at -20 to -50 dBFS with noise at -55, all are more
and 141 above 0.7; of 73 segments of the practice recording's crew, who spoke meanwhile into a
channel that does not hear the output, none is more and 95 in 100 are 0.37 or less.
"""

_MOST: Final = 0.6  # of a segment's voice must lie where the tool spoke
_HOP: Final = RATE // 50
_WINDOW: Final = 512
_RANGE_HZ: Final = (300.0, 3400.0)
_BANDS: Final = 12
_FLOOR: Final = 0.03  # of a band's mean power: what is softer does not count
_SMALLEST: Final = 1e-6  # of the power of a window at full scale; below it is no sound


class Sorted(NamedTuple):
    """Segments of the crew and of the tool's own voice, each in the order they came."""

    crew: tuple[Segment, ...]
    own: tuple[Segment, ...]


def sort_segments(
    segments: Iterable[Segment],
    spans: Sequence[tuple[int, int]],
    longest_delay: int = LONGEST_DELAY,
) -> Sorted:
    """Parts the tool's own voice from the crew's by time alone.

    spans: first sample and first sample after, on the recording's clock of 16,000 a second, of
    what the tool played. longest_delay: samples until a channel has it at the latest.
    """
    crew: list[Segment] = []
    own: list[Segment] = []
    for segment in segments:
        (own if is_own_voice(segment, spans, longest_delay) else crew).append(segment)
    return Sorted(tuple(crew), tuple(own))


def is_own_voice(
    segment: Segment, spans: Sequence[tuple[int, int]], longest_delay: int = LONGEST_DELAY
) -> bool:
    """Whether most of the segment's voice lies where the tool spoke, delay included."""
    voice = segment.bursts or ((segment.start, segment.end),)
    total = sum(end - start for start, end in voice)
    within = sum(_within(start, end, spans, longest_delay) for start, end in voice)
    return total > 0 and within >= _MOST * total


def _within(start: int, end: int, spans: Sequence[tuple[int, int]], longest_delay: int) -> int:
    """Samples of a burst inside spans; spans that touch once delayed count once."""
    covered, taken_until = 0, start
    for first, after in sorted(spans):
        begin = max(first, taken_until)
        finish = min(after + longest_delay, end)
        if finish > begin:
            covered += finish - begin
            taken_until = finish
    return covered


def is_own_sound(
    segment: Segment,
    audio: NDArray[np.float32],
    played: Iterable[tuple[int, NDArray[np.int16]]],
    longest_delay: int = LONGEST_DELAY,
) -> bool:
    """Whether a segment that lies where the tool spoke also sounds like what it said.

    audio: the segment's samples, 1.0 full scale. played: first sample on the recording's clock of
    each sound, and the sound at 16,000 samples a second. True where nothing known was played.
    """
    first = segment.start - longest_delay
    around = np.zeros(segment.end - first, np.int16)
    for start, sound in played:
        begin, end = max(start, first), min(start + len(sound), segment.end)
        if begin < end:
            around[begin - first : end - first] = sound[begin - start : end - start]
    if not around.any():
        return True
    heard = np.rint(np.clip(audio, -1, 1) * 32767).astype(np.int16)
    return likeness(around, heard, longest_delay) >= PART_LIKENESS


def likeness(
    captured: NDArray[np.int16], played: NDArray[np.int16], longest_delay: int = LONGEST_DELAY
) -> float:
    """How well a channel's sound follows what was played, 0 to 1, at the delay that fits best.

    captured: the channel from the span's start on, for as long as the span and the delay. Both at
    16,000 samples a second. What is compared is how the loudness of each of a few bands of an
    intercom's range changes in steps of 20 ms (the correlation of its logarithm, each band less
    its own mean), which a small loudspeaker or a room hardly alters.
    """
    heard, said = _bands(captured), _bands(played)
    if len(said) < 2 or len(heard) < len(said):
        return 0.0
    delays = range(min(longest_delay // _HOP, len(heard) - len(said)) + 1)
    return max(0.0, *(_correlation(heard[d : d + len(said)], said) for d in delays))


def _bands(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """Loudness, one row a step and one column a band."""
    steps = (len(samples) - _WINDOW) // _HOP + 1
    if steps < 1:
        return np.zeros((0, _BANDS))
    wave = samples.astype(np.float64) / 32768
    frames = np.lib.stride_tricks.sliding_window_view(wave, _WINDOW)[::_HOP]
    power = np.abs(np.fft.rfft(frames * np.hanning(_WINDOW), axis=1)) ** 2
    edges = np.geomspace(*_RANGE_HZ, _BANDS + 1) * _WINDOW / RATE
    bands = np.add.reduceat(power, edges.astype(int), axis=1)[:, :_BANDS]
    floor = _FLOOR * bands.mean(axis=0) + _SMALLEST
    return np.asarray(np.log(bands + floor))


def _correlation(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    one, two = first - first.mean(axis=0), second - second.mean(axis=0)
    size = float(np.sqrt(np.sum(one * one) * np.sum(two * two)))
    return float(np.sum(one * two)) / size if size > 0 else 0.0
