"""Utterances with the voice they were said in. Pure, around whatever hears them."""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.speaker.voiceprint import voiceprint
from voxlog.speech.utterance import Utterance

__all__ = ["attempts_with_voices", "last_attempt", "with_voices"]

Floats = NDArray[np.float32]
Attempts = Callable[[Segment, Floats], Iterable[tuple[Utterance, ...]]]
"""Turns a segment and its samples into utterances, better ones each time; the last ones hold."""


def attempts_with_voices(attempts: Attempts, exact: Collection[int]) -> Attempts:
    """The same attempts, with the voice of each utterance.

    exact: channels, from 0, that carry one position each: who speaks there is known already.
    """

    def attempt(segment: Segment, audio: Floats) -> Iterator[tuple[Utterance, ...]]:
        for heard in attempts(segment, audio):
            yield heard if segment.channel in exact else with_voices(heard, segment, audio)

    return attempt


def last_attempt(attempts: Attempts) -> Callable[[Segment, Floats], tuple[Utterance, ...]]:
    """Only what holds."""

    def recognise(segment: Segment, audio: Floats) -> tuple[Utterance, ...]:
        *_, heard = attempts(segment, audio)
        return heard

    return recognise


def with_voices(
    heard: Sequence[Utterance], segment: Segment, audio: Floats
) -> tuple[Utterance, ...]:
    """A segment's utterances with their voices.

    Where one was parted from the next without a pause between them, the cut is a guess, and some of
    one voice may lie on the other's side: neither gets a voice.
    """
    blurred = {
        number
        for first, (one, other) in enumerate(pairwise(heard))
        if other.start <= one.end and not other.surmised
        for number in (first, first + 1)
    }
    clear = {number for number, one in enumerate(heard) if not one.surmised} - blurred
    return tuple(
        replace(one, voice=_voice(one, segment, audio)) if number in clear else one
        for number, one in enumerate(heard)
    )


def _voice(one: Utterance, segment: Segment, audio: Floats) -> bytes:
    places = ((round(start * RATE), round(end * RATE)) for start, end in one.bursts)
    return voiceprint(audio[start - segment.start : end - segment.start] for start, end in places)
