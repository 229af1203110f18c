"""Whose voice it was, learned from the run itself. Pure.

Who is to say a line stands in the run sheet, so the lines of a run that were clearly heard show
what each position's voice is like. Every line is compared with the voices as they were known before
it: what is said of it does not change as the run goes on, and an answer never speaks for itself.

Method: the voices of a channel as normal distributions with one covariance within (linear
discriminant analysis), drawn towards its own diagonal while there is little to learn it from. A
voice that nobody knows yet is one more, as wide as all voices together. The scores become
probabilities by a factor set on the fit scenarios (tests/bench/speakers.py): neighbouring frames
repeat each other, so plain likelihoods are far too sure.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.speaker.voiceprint import decoded

__all__ = ["UNKNOWN", "Line", "Voices", "learn_voices", "voices_of"]

Doubles = NDArray[np.float64]

UNKNOWN = "?"
"""In place of a position: a voice not known yet."""
FIRST = 16
"""Clear lines that must have been heard before anything is said of a voice."""
LEAST = 3
"""Clear lines of a position from which its voice counts as known."""
AGAIN = 8
"""Lines after which the voices are learned again."""
LAST = 240
"""Clear lines that are looked back on."""
DIAGONAL = 20.0
"""Lines that the diagonal is worth in the covariance."""
ELSE = 4.0
"""Half squared distance by which a line of an enrolled position must be off to be left out when the
voices are learned: it was said by someone else."""
ALIKE = 0.5
"""Probability of the voice that asks from which another position's line is not learned from."""
FACTOR = 0.5
"""What a score is worth in nats."""
KEPT = 512
"""Blocks of lines whose voices are remembered: more than two hours of a run have."""


class Line(NamedTuple):
    """A line on a channel: who is taken to have said it, its voice, whether that is clear.

    voice: what the voice sounds like, in as many bytes for each line.
    """

    position: str
    voice: bytes
    is_clear: bool


class Voices(NamedTuple):
    """Known voices.

    positions: of the rows of centres. whitening: makes the covariance within a voice the identity.
    counts: lines of each voice. wide: the same as whitening, for a voice nobody knows; offset: its
    score's, for being wider.
    """

    positions: tuple[str, ...]
    counts: Doubles
    centres: Doubles
    middle: Doubles
    whitening: Doubles
    wide: Doubles
    offset: float

    def scores(self, heard: Doubles) -> Doubles:
        """Log-likelihoods, up to a constant a line; shape (lines, positions + 1), unknown last."""
        apart = (heard[:, None, :] - self.centres) @ self.whitening
        known = (apart**2).sum(axis=2) * self.counts / (self.counts + 1)
        other = (((heard - self.middle) @ self.wide) ** 2).sum(axis=1)
        return -0.5 * np.column_stack([known, other]) + [*[0.0] * len(self.positions), self.offset]


def voices_of(
    lines: Sequence[Line],
    asker: str,
    factor: float = FACTOR,
    numbers: Callable[[bytes], Doubles] = decoded,
) -> list[Mapping[str, float]]:
    """For each line of a channel, in order of time, the probability of each voice that was known.

    Nothing before enough was heard. All voices are taken to be as likely beforehand: whoever asks
    knows better.

    asker: the position that says most. What others were to say and sounds like it is not learned.
    numbers: of the bytes of a line's voice.
    """
    found: list[Mapping[str, float]] = []
    clear: list[Line] = []
    for start in range(0, len(lines), AGAIN):
        block = tuple(lines[start : start + AGAIN])
        shares = _judged(tuple(clear[-LAST:]), block, factor, numbers)
        found += shares
        clear += [
            line
            for line, share in zip(block, shares, strict=True)
            if line.is_clear
            and line.position
            and (line.position == asker or share.get(asker, 0.0) < ALIKE)
        ]
    return found


@lru_cache(maxsize=KEPT)
def _judged(
    clear: tuple[Line, ...],
    block: tuple[Line, ...],
    factor: float,
    numbers: Callable[[bytes], Doubles],
) -> tuple[Mapping[str, float], ...]:
    """A block's lines by the voices of clear ones. Kept: a live run is followed over and over."""
    voices = learn_voices(clear, numbers)
    if voices is None:
        return tuple({} for _ in block)
    return tuple(_probabilities(voices, numbers(line.voice), factor) for line in block)


def _probabilities(voices: Voices, voice: Doubles, factor: float) -> Mapping[str, float]:
    scores = voices.scores(voice[None])[0] * factor
    shares = np.exp(scores - scores.max())
    every = (*voices.positions, UNKNOWN)
    return dict(zip(every, (shares / shares.sum()).tolist(), strict=True))


def learn_voices(
    lines: Sequence[Line], numbers: Callable[[bytes], Doubles] = decoded
) -> Voices | None:
    """The voices of clear lines; None while they are too few."""
    counts = Counter(line.position for line in lines)
    known = [line for line in lines if counts[line.position] >= LEAST]
    positions = tuple(sorted({line.position for line in known}))
    if len(known) < FIRST or len(positions) < 2:
        return None
    prints = np.array([numbers(line.voice) for line in known])
    labels = np.array([positions.index(line.position) for line in known])
    voices = _learned(positions, prints, labels)
    # What was said by another than the sheet wants is not to be learned as that one's voice.
    scores = voices.scores(prints)[:, :-1]
    kept = scores[np.arange(len(labels)), labels] >= scores.max(axis=1) - ELSE
    is_left = np.bincount(labels[kept], minlength=len(positions)).min() >= LEAST - 1
    return _learned(positions, prints[kept], labels[kept]) if is_left else voices


def _learned(positions: tuple[str, ...], prints: Doubles, labels: NDArray[np.int_]) -> Voices:
    middle = prints.mean(axis=0)
    member = labels == np.arange(len(positions))[:, None]
    counts = member.sum(axis=1).astype(np.float64)
    # As if one line of an average voice had been heard of each.
    centres = (member @ prints + middle) / (counts + 1)[:, None]
    within = _covariance(prints - centres[labels], len(positions))
    between = centres - middle
    total = within + between.T @ between / len(positions)
    whitening, wide = _whitening(within), _whitening(total)
    offset = float(np.log(np.diag(wide)).sum() - np.log(np.diag(whitening)).sum())
    return Voices(positions, counts, centres, middle, whitening, wide, offset)


def _covariance(apart: Doubles, voices: int) -> Doubles:
    free = max(1, len(apart) - voices)
    covariance = apart.T @ apart / free
    own = np.diag(covariance)
    # A band that hardly varied so far may yet.
    diagonal = np.diag(np.maximum(own, own.mean() / 10))
    share = DIAGONAL / (DIAGONAL + free)
    return (1 - share) * covariance + share * diagonal


def _whitening(covariance: Doubles) -> Doubles:
    """Upper triangle that, put behind differences, makes their covariance the identity."""
    lower = np.linalg.cholesky(covariance)
    return np.linalg.inv(lower).T
