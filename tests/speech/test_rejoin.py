"""A phrase with a pause in it."""

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.audio.burst import Burst
from voxlog.audio.segment import Segment
from voxlog.speech.rejoin import LONGEST, LONGEST_PAUSE, Listened, rejoined
from voxlog.speech.utterance import Heard, Sayable, Utterance

Floats = NDArray[np.float32]

PADDING = RATE // 10


def segment(start: float, end: float, channel: int = 0) -> Segment:
    burst = Burst(round(start * RATE), round(end * RATE))
    return Segment(channel, burst.start - PADDING, burst.end + PADDING, (burst,))


def utterance(where: Segment, evidence: float, words: str = "") -> Utterance:
    start, end = where.bursts[0][0] / RATE, where.bursts[-1][1] / RATE
    heard = (Heard(Sayable(words or f"{evidence}", 0), evidence),)
    return Utterance(where.channel, start, end, ((start, end),), "", heard)


def listened(start: float, end: float, evidence: float, channel: int = 0) -> Listened:
    where = segment(start, end, channel)
    audio = np.full(where.end - where.start, start, np.float32)
    return Listened(where, audio, (utterance(where, evidence),))


class Again:
    """Recognises everything with the same evidence for each burst, and remembers what it heard."""

    def __init__(self, evidence: float, words: str = "") -> None:
        self.asked: list[tuple[Segment, Floats]] = []
        self._evidence = evidence
        self._words = words

    def __call__(self, where: Segment, audio: Floats) -> tuple[Utterance, ...]:
        self.asked.append((where, audio))
        return (utterance(where, self._evidence * len(where.bursts) / 2, self._words),)


def as_heard(one: Listened, before: Sequence[Listened]) -> Listened:
    return one


PAUSE = 0.25


@pytest.mark.parametrize(
    ("first", "second", "both", "joined"),
    [
        (4.5, -2.4, 8.0, True),  # "pulse one hundred", "and twenty six"
        (-5.8, 5.8, 9.0, True),  # "saturation", "seven two percent"
        (-3.0, -2.0, 2.0, True),
        (-3.0, -2.0, -1.0, False),  # nothing alone and nothing together
        (4.5, -2.4, 4.0, False),  # a phrase and some talk
        (1.4, 4.9, 9.0, True),  # "saturation" with any number, "seven one percent"
        (7.0, 6.0, 20.0, False),  # a challenge and its answer: never tried
    ],
)
def test_two_are_one_where_that_accounts_better_for_both(
    first: float, second: float, both: float, joined: bool
) -> None:
    parts = [listened(1.0, 2.0, first), listened(2.0 + PAUSE, 3.0, second)]
    found = list(rejoined(parts, Again(both), as_heard))
    assert found == parts if not joined else len(found) == 1
    if joined:
        assert found[0].evidence == both
        assert found[0].segment.bursts == (Burst(16_000, 32_000), Burst(36_000, 48_000))


@pytest.mark.parametrize(
    ("second", "tried"),
    [
        (listened(2.0 + LONGEST_PAUSE / RATE, 3.0, -1.0), 1),
        (listened(2.0 + LONGEST_PAUSE / RATE + 0.01, 3.0, -1.0), 0),
        (listened(2.0 + PAUSE, 3.0, -1.0, channel=1), 0),  # somebody else
        (listened(2.0 + PAUSE, 1.0 + LONGEST / RATE, -1.0), 0),  # padding makes it too long
    ],
)
def test_only_neighbours_that_can_be_a_phrase_are_heard_again(second: Listened, tried: int) -> None:
    again = Again(-9.0)
    list(rejoined([listened(1.0, 2.0, 5.0), second], again, as_heard))
    assert len(again.asked) == tried


def test_a_phrase_may_have_two_pauses() -> None:
    again = Again(0.2)
    parts = [listened(1.0 + n, 1.8 + n, -4.0) for n in range(3)]
    assert [one.segment.end for one in rejoined(parts, again, as_heard)] == [parts[-1].segment.end]
    assert len(again.asked) == 2


def test_the_sound_between_two_segments_is_silence() -> None:
    again = Again(0.0)
    list(rejoined([listened(1.0, 2.0, -1.0), listened(2.4, 3.0, -1.0)], again, as_heard))
    ((where, audio),) = again.asked
    assert (where.start, where.end, len(audio)) == (14_400, 49_600, 35_200)
    assert [audio[0], audio[19_199], audio[19_200], audio[22_399], audio[22_400]] == pytest.approx(
        [1.0, 1.0, 0.0, 0.0, 2.4]
    )


def test_channels_keep_their_order_and_nothing_is_lost() -> None:
    parts = [
        listened(1.0, 2.0, 5.0, channel=0),
        listened(1.5, 2.5, 5.0, channel=1),
        listened(9.0, 9.5, 5.0, channel=1),
        listened(9.2, 9.9, 5.0, channel=0),
    ]
    found = list(rejoined(parts, Again(0.0), as_heard))
    assert sorted(found, key=lambda one: one.segment.start) == parts


def test_a_phrase_stretched_over_what_follows_it_explains_nothing() -> None:
    parts = [listened(1.0, 2.0, 6.8), listened(2.0 + PAUSE, 2.8, -0.5)]
    assert list(rejoined(parts, Again(7.1, words="6.8"), as_heard)) == parts


def test_two_that_mean_something_are_not_made_two_others() -> None:
    """A challenge with its value, taken back in the next segment, which is not clear."""
    parts = [listened(1.0, 2.0, 2.1), listened(2.0 + PAUSE, 2.8, 0.9)]

    def again(where: Segment, audio: Floats) -> tuple[Utterance, ...]:
        first, second = (segment(1.0, 2.0), segment(2.0 + PAUSE, 2.8))
        return utterance(first, 4.8, "one"), utterance(second, 4.8, "two")

    assert list(rejoined(parts, again, as_heard)) == parts


def test_neither_does_the_same_phrase_with_something_unclear_after_it() -> None:
    parts = [listened(1.0, 2.0, 6.8), listened(2.0 + PAUSE, 2.8, -0.5)]

    def again(where: Segment, audio: Floats) -> tuple[Utterance, ...]:
        first, second = (segment(1.0, 2.0), segment(2.0 + PAUSE, 2.8))
        return utterance(first, 7.1, "6.8"), utterance(second, -0.5, "set")

    assert list(rejoined(parts, again, as_heard)) == parts
