"""Speech that leaked from another channel's microphone, taken out before it is logged twice. Pure.

Judged burst by burst, not segment by segment: a leaked challenge and the position's own answer
often follow each other so closely that they are one segment, and dropping that segment would lose
the answer.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voxlog.audio.burst import FRAME, Burst

__all__ = ["LeakRules", "Voice", "frame_power", "own_bursts"]


@dataclass(frozen=True)
class LeakRules:
    """What counts as a leak.

    Attributes:
        quieter_db: a leak is at least so much weaker than on the channel it came from.
        alike: and the levels of the two rise and fall together: their correlation is at least
            this (-1 to 1). Two people who speak at once do not, however quiet one of them is.
        share: a burst is touched only if more than this part of it is leak;
        rest: what is left of it is then kept if it is at least so many frames (0.26 s), because
            the model does not begin and end the bursts of two channels at the same frame.
    """

    quieter_db: float = 6.0
    alike: float = 0.6
    share: float = 0.6
    rest: int = 8


@dataclass(frozen=True)
class Voice:
    """One channel's bursts and the power of its frames (mean square), from frame `first` on."""

    bursts: tuple[Burst, ...]
    power: NDArray[np.float32]
    first: int = 0

    def power_within(self, start: int, end: int) -> NDArray[np.float32]:
        """Power of the frames between two sample indexes."""
        return self.power[start // FRAME - self.first : end // FRAME - self.first]


def frame_power(frames: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean square of each frame, shape (n, 512) -> (n,)."""
    power: NDArray[np.float32] = np.einsum("ij,ij->i", frames, frames) / np.float32(frames.shape[1])
    return power


def own_bursts(
    burst: Burst, own: Voice, others: Iterable[Voice], rules: LeakRules = LeakRules()
) -> tuple[Burst, ...]:
    """What is left of a burst without what leaked into it: usually all or nothing.

    Args:
        burst: one of `own`'s bursts.
        own: the channel it was found on.
        others: the channels it may have leaked from, with every burst that overlaps it.
        rules: what counts as a leak.
    """
    leaks = [
        Burst(max(burst.start, other_burst.start), min(burst.end, other_burst.end))
        for other in others
        for other_burst in other.bursts
        if _is_leak(burst, own, other_burst, other, rules)
    ]
    pieces = _without(burst, leaks)
    kept = sum(piece.end - piece.start for piece in pieces)
    if kept >= (1 - rules.share) * (burst.end - burst.start):
        return (burst,)
    return tuple(piece for piece in pieces if piece.end - piece.start >= rules.rest * FRAME)


def _is_leak(burst: Burst, own: Voice, other_burst: Burst, other: Voice, rules: LeakRules) -> bool:
    start, end = max(burst.start, other_burst.start), min(burst.end, other_burst.end)
    if end <= start:
        return False
    here, there = own.power_within(start, end), other.power_within(start, end)
    louder = float(there.mean()) >= float(here.mean()) * 10 ** (rules.quieter_db / 10)
    return louder and _correlation(here, there) >= rules.alike


def _correlation(left: NDArray[np.float32], right: NDArray[np.float32]) -> float:
    """Of the amplitudes; 1 where either never changes or is too short to tell."""
    left, right = np.sqrt(left), np.sqrt(right)
    if len(left) < 3 or np.ptp(left) == 0 or np.ptp(right) == 0:
        return 1.0
    return float(np.corrcoef(left, right)[0, 1])


def _without(burst: Burst, leaks: Iterable[Burst]) -> list[Burst]:
    pieces, start = [], burst.start
    for leak in sorted(leaks):
        if leak.start > start:
            pieces.append(Burst(start, leak.start))
        start = max(start, leak.end)
    if start < burst.end:
        pieces.append(Burst(start, burst.end))
    return pieces
