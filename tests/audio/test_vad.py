"""The voice activity model on a stream: the same as on the whole, and true on real speech."""

import numpy as np
import pytest
from faster_whisper.vad import get_vad_model
from numpy.typing import NDArray

from tests.audio.sounds import speech, tone
from voxlog.audio.burst import FRAME, bursts
from voxlog.audio.vad import Framer, SpeechDetector, speech_probabilities

CLIPS = ("goforward.raw", "cards/001.wav", "cards/005.wav", "numbers.raw")


@pytest.fixture(scope="module")
def talk() -> NDArray[np.float32]:
    """Half a minute of clips, over the hiss of an open microphone."""
    voice = speech(*CLIPS, *CLIPS)
    hiss = np.random.default_rng(5).standard_normal(len(voice)).astype(np.float32) * 0.002
    return voice + hiss


def listen(samples: NDArray[np.float32], block: int) -> NDArray[np.float32]:
    blocks = (samples[first : first + block] for first in range(0, len(samples), block))
    return np.concatenate(list(speech_probabilities(blocks)))


@pytest.mark.parametrize("block", [100, FRAME, 16_000, 5 * 16_000, 30 * 16_000])
def test_blocks_change_no_probability(block: int, talk: NDArray[np.float32]) -> None:
    whole = listen(talk, len(talk))
    assert np.allclose(listen(talk, block), whole, atol=1e-4)
    assert bursts(listen(talk, block)) == bursts(whole)


def test_the_probabilities_are_those_of_faster_whisper(talk: NDArray[np.float32]) -> None:
    """Its own call on the whole, except the last frame, whose end it overwrites with zeros."""
    whole = talk[: len(talk) // FRAME * FRAME]
    theirs = get_vad_model()(whole.copy()).reshape(-1)
    assert np.allclose(listen(whole, 7777)[:-1], theirs[:-1], atol=1e-4)


def test_a_frame_for_each_512_samples_and_one_for_the_rest() -> None:
    assert [len(listen(tone(1.0)[: 512 * 3 + n, 0], 1000)) for n in (0, 1, 511)] == [3, 4, 4]


@pytest.mark.parametrize(
    ("name", "sound"),
    [
        ("silence", np.zeros(5 * 16_000, dtype=np.float32)),
        ("tone", tone(5.0)[:, 0]),
        ("hiss", np.random.default_rng(1).standard_normal(80_000).astype(np.float32) * 0.05),
    ],
)
def test_no_voice_in_what_is_none(name: str, sound: NDArray[np.float32]) -> None:
    assert bursts(listen(sound, 16_000)) == ()


def test_voice_is_found_where_the_clips_are() -> None:
    """Clips of 2.79, 1.10, 3.50 and 4.02 s, a second of silence around each."""
    found = bursts(listen(speech(*CLIPS), 16_000))
    inside = np.zeros(len(speech(*CLIPS)), dtype=bool)
    start = 16_000
    for name in CLIPS:
        end = start + len(speech(name, pause=0.0))
        inside[start:end] = True
        assert any(start <= burst.start and burst.end <= end + FRAME for burst in found), name
        start = end + 16_000
    assert all(inside[burst.start : burst.end].mean() > 0.9 for burst in found)


def test_detectors_do_not_share_their_memory(talk: NDArray[np.float32]) -> None:
    frames = Framer().push(talk)
    one, other = SpeechDetector(), SpeechDetector()
    first = one.probabilities(frames)
    assert np.array_equal(other.probabilities(frames), first)
    assert not np.array_equal(one.probabilities(frames), first)


def test_speech_is_found_after_a_long_silence() -> None:
    """Without forgetting the network takes all for silence after minutes of noise."""
    voice = speech(*CLIPS)
    level = float(np.sqrt((voice**2).mean())) / 3
    noise = np.random.default_rng(3).standard_normal(300 * 16_000).astype(np.float32) * level
    spoken = voice + noise[: len(voice)]
    fresh = listen(spoken, 16_000) > 0.2
    late = listen(np.concatenate([noise, spoken]), 16_000)[-len(fresh) :] > 0.2
    assert fresh.mean() > 0.2
    assert late.mean() > 0.9 * fresh.mean()
