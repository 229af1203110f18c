"""How loud each channel is, and what a technician must be told about it. Pure.

Works on whole tenths of a second of the source's own samples; decibels are below full scale (a
square wave of the largest value is 0 dBFS).
"""

from collections import Counter, deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

__all__ = ["NOTHING_DBFS", "Level", "Meter", "dbfs", "swapped_channels"]

FULL_SCALE = 32768
NOTHING_DBFS = -99.0
"""Shown for digital silence, and for all below: 16 bits end at -90.3."""

BIN_SECONDS = 0.1
LEVEL_BINS = 10

DEAD_PEAK = 2
"""Steps of 16 bits: a dither's worth, as in audio/check."""
DEAD_SECONDS = 5.0

SIGNAL_DB = 10.0
"""So far above its own noise floor a channel must come to be called live."""
FLOOR_SECONDS = 30.0
"""The floor is the quietest bin of so long, so that a noise that begins does not stay a signal."""

CLIPPED_SHARE = 0.001
CLIPPED_SECONDS = 10.0
"""So long a warning of clipping stays."""

SAME_CORRELATION = 0.995
SAME_DB = 1.0
SAME_BINS = 20
SAME_LEAST_DBFS = -50.0
"""One line patched twice: so alike, and as loud, in so many loud bins in a row. A leak is quieter
than what it comes from, and two microphones near one mouth are less alike."""

LEAST_PHRASES = 4
MOSTLY = 2 / 3


@dataclass(frozen=True, slots=True)
class Level:
    """One channel over the last second, in dBFS; `warning` is empty if all is well."""

    peak_dbfs: float
    rms_dbfs: float
    warning: str


def dbfs(amplitude: float) -> float:
    """Decibels of an amplitude in steps of 16 bits."""
    return max(NOTHING_DBFS, 20 * float(np.log10(max(amplitude, 1e-9) / FULL_SCALE)))


class Meter:
    """Levels and warnings, block by block.

    Args:
        channels: how many.
        rate: samples a second.
        silent_after_s: seconds with nothing but noise after which a channel is called silent.
    """

    def __init__(self, channels: int, rate: int, silent_after_s: float = 120.0) -> None:
        self._size = round(BIN_SECONDS * rate)
        self._waiting = np.zeros((channels, 0), dtype=np.int16)
        self._channels = [_Channel(silent_after_s) for _ in range(channels)]
        self._alike = dict.fromkeys(combinations(range(channels), 2), 0)

    def push(self, samples: NDArray[np.int16]) -> None:
        """Takes the next samples, shape (channels, n)."""
        waiting = np.concatenate([self._waiting, samples], axis=1)
        while waiting.shape[1] >= self._size:
            self._take(waiting[:, : self._size].astype(np.float64))
            waiting = waiting[:, self._size :]
        self._waiting = waiting.copy()

    def levels(self) -> tuple[Level, ...]:
        """One a channel, in order."""
        return tuple(
            Level(channel.peak_dbfs, channel.rms_dbfs, channel.warning() or self._same_as(number))
            for number, channel in enumerate(self._channels)
        )

    def _take(self, samples: NDArray[np.float64]) -> None:
        for channel, own in zip(self._channels, samples, strict=True):
            channel.take(own)
        self._compare(samples)

    def _compare(self, samples: NDArray[np.float64]) -> None:
        """Counts, pair by pair, the loud bins in a row in which both are the same."""
        centred = samples - samples.mean(axis=1, keepdims=True)
        products = centred @ centred.T
        powers = np.diag(products) / self._size
        least = (FULL_SCALE * 10 ** (SAME_LEAST_DBFS / 20)) ** 2
        for (one, other), count in self._alike.items():
            louder, quieter = max(powers[one], powers[other]), min(powers[one], powers[other])
            if louder < least:
                continue
            alike = products[one, other] / self._size >= SAME_CORRELATION * np.sqrt(
                louder * quieter
            )
            as_loud = quieter * 10 ** (SAME_DB / 10) >= louder
            self._alike[one, other] = count + 1 if alike and as_loud else 0

    def _same_as(self, number: int) -> str:
        for pair, count in self._alike.items():
            if number in pair and count >= SAME_BINS:
                other = pair[0] + pair[1] - number
                return f"same as channel {other + 1}; one line may be patched twice"
        return ""


class _Channel:
    """What is remembered of one channel: a few numbers a bin."""

    def __init__(self, silent_after_s: float) -> None:
        self._silent_after_s = silent_after_s
        self._bins: deque[tuple[float, float]] = deque(maxlen=LEVEL_BINS)  # (peak, mean square)
        self._floor: deque[float] = deque(maxlen=round(FLOOR_SECONDS / BIN_SECONDS))
        self._dead_bins = 0
        self._quiet_bins = 0
        self._clipped_for = 0

    @property
    def peak_dbfs(self) -> float:
        return dbfs(max((peak for peak, _ in self._bins), default=0))

    @property
    def rms_dbfs(self) -> float:
        squares = [square for _, square in self._bins]
        return dbfs(float(np.sqrt(np.mean(squares)))) if squares else NOTHING_DBFS

    def take(self, samples: NDArray[np.float64]) -> None:
        peak = float(np.abs(samples).max())
        square = float(np.mean(samples * samples))
        self._bins.append((peak, square))
        self._dead_bins = self._dead_bins + 1 if peak <= DEAD_PEAK else 0
        # A step below the smallest 16 bits hold, so that digital silence is a floor too.
        self._floor.append(max(square, 0.1))
        is_signal = square > min(self._floor) * 10 ** (SIGNAL_DB / 10) and peak > DEAD_PEAK
        self._quiet_bins = 0 if is_signal else self._quiet_bins + 1
        at_full_scale = np.count_nonzero((samples >= FULL_SCALE - 1) | (samples <= -FULL_SCALE))
        if at_full_scale > CLIPPED_SHARE * len(samples):
            self._clipped_for = round(CLIPPED_SECONDS / BIN_SECONDS)
        else:
            self._clipped_for = max(0, self._clipped_for - 1)

    def warning(self) -> str:
        """The gravest."""
        if self._dead_bins * BIN_SECONDS >= DEAD_SECONDS:
            return "no sound at all; check its line"
        if self._clipped_for:
            return "too loud, clipping; turn its input down"
        if self._quiet_bins * BIN_SECONDS >= self._silent_after_s:
            return f"nothing but noise for {self._quiet_bins * BIN_SECONDS:.0f} s"
        return ""


def swapped_channels(
    said: Iterable[tuple[int, str]], positions: Mapping[int, str]
) -> dict[int, str]:
    """What to say of each channel that carries another position's voice; channels count from 0.

    Levels cannot show that; the sheet can, because it says who says what.

    Args:
        said: (channel, the position that says such a thing), phrase by phrase.
        positions: the position that each channel is mapped to.

    A channel is told of when of its phrases (four or more) more than two thirds are one other
    position's.
    """
    counts: dict[int, Counter[str]] = {}
    for channel, speaker in said:
        counts.setdefault(channel, Counter())[speaker] += 1
    foreign = {
        channel: position
        for channel, by_position in sorted(counts.items())
        if channel in positions and (position := _foreign(by_position, positions[channel]))
    }
    found: dict[int, str] = {}
    for channel, other in foreign.items():
        partners = [
            c for c, p in foreign.items() if (positions[c], p) == (other, positions[channel])
        ]
        if partners:
            what = f"seems swapped with channel {partners[0] + 1}"
        else:
            count = counts[channel]
            what = f"{count[other]} of {count.total()} phrases are {other}'s"
        found[channel] = f"{what}; check the patch"
    return found


def _foreign(by_position: Counter[str], own: str) -> str | None:
    """The other position that most of a channel's phrases belong to, if there is one."""
    position, count = by_position.most_common(1)[0]
    enough = by_position.total() >= LEAST_PHRASES and count > MOSTLY * by_position.total()
    return position if enough and position != own else None
