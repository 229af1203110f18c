"""Which utterances get a voice, and of which sound."""

import numpy as np
import pytest

from tests.speaker.test_voiceprint import RATE, noise
from voxlog.audio.burst import Burst
from voxlog.audio.segment import Segment
from voxlog.speaker.attach import attempts_with_voices, last_attempt, with_voices
from voxlog.speaker.voiceprint import voiceprint
from voxlog.speech.utterance import Utterance

FIRST, SECOND = noise(1.0, seed=1), noise(1.0, 200, 1500, seed=2)
AUDIO = np.concatenate([np.zeros(1600, np.float32), FIRST, np.zeros(4800, np.float32), SECOND])
START = 5 * RATE
"""Place of the segment: its times are those of the recording."""


def segment(channel: int = 0) -> Segment:
    bursts = (Burst(START + 1600, START + 17_600), Burst(START + 22_400, START + 38_400))
    return Segment(channel, START, START + len(AUDIO), bursts)


def said(start: float, end: float, *bursts: tuple[float, float]) -> Utterance:
    return Utterance(0, start, end, bursts or ((start, end),), "", ())


ONE, OTHER = said(5.1, 6.1), said(6.4, 7.4)
BOTH = said(5.1, 7.4, (5.1, 6.1), (6.4, 7.4))


@pytest.mark.parametrize(
    ("heard", "expected"),
    [
        ((), []),
        ((ONE, OTHER), [voiceprint([FIRST]), voiceprint([SECOND])]),
        ((BOTH,), [voiceprint([FIRST, SECOND])]),
        ((said(5.1, 5.2),), [b""]),
        # Cut where nobody paused: either may hold some of the other's voice.
        ((said(5.1, 5.6), said(5.6, 6.1), OTHER), [b"", b"", voiceprint([SECOND])]),
    ],
)
def test_a_voice_is_that_of_the_utterances_own_bursts(
    heard: tuple[Utterance, ...], expected: list[bytes]
) -> None:
    assert [one.voice for one in with_voices(heard, segment(), AUDIO)] == expected


@pytest.mark.parametrize(("exact", "has_voice"), [((), True), ((0,), False), ((1,), True)])
def test_a_channel_of_one_position_needs_none(exact: tuple[int, ...], has_voice: bool) -> None:
    attempts = attempts_with_voices(lambda segment, audio: [(), (ONE,)], exact)
    first, (one,) = attempts(segment(), AUDIO)
    assert first == ()
    assert bool(one.voice) is has_voice
    assert last_attempt(attempts)(segment(), AUDIO) == (one,)
