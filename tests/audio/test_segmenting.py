"""From files to segments, on real speech."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from tests.audio.sounds import speech, write
from voxlog.audio.burst import FRAME
from voxlog.audio.check import AudioCheck
from voxlog.audio.denoise import Denoiser
from voxlog.audio.recording import open_recording
from voxlog.audio.segment import JoinRules, moved
from voxlog.audio.segmenting import Segmenter, segments
from voxlog.audio.store import AudioStore

CARDS = ("cards/001.wav", "cards/003.wav", "cards/004.wav", "goforward.raw")
LEAD, TAIL = JoinRules().lead, JoinRules().tail


def starts_of(names: tuple[str, ...], pause: float) -> list[tuple[int, int]]:
    """Where `speech` put each clip: first sample and first sample after."""
    places, place = [], round(pause * 16_000)
    for name in names:
        length = len(speech(name, pause=0.0))
        places.append((place, place + length))
        place += length + round(pause * 16_000)
    return places


def side_by_side(*channels: NDArray[np.float32]) -> NDArray[np.float32]:
    block = np.zeros((len(channels), max(map(len, channels))), dtype=np.float32)
    for row, samples in zip(block, channels, strict=True):
        row[: len(samples)] = samples
    return block


def segment_all(block: NDArray[np.float32], size: int) -> list[tuple[object, NDArray[np.float32]]]:
    segmenter = Segmenter(len(block))
    found = []
    for first in range(0, block.shape[1], size):
        found += segmenter.push(block[:, first : first + size])
    return [*found, *segmenter.finish()]


@pytest.fixture(scope="module")
def two_channels() -> NDArray[np.float32]:
    """A conductor and, in the pauses between, a position that answers; hiss on both."""
    conductor = speech(*CARDS, *CARDS, pause=4.0)
    answers = np.concatenate([np.zeros(40_000, np.float32), speech("cards/001.wav", pause=7.0)])
    block = side_by_side(conductor, answers)
    hiss = np.random.default_rng(5).standard_normal(block.shape).astype(np.float32)
    return block + 0.002 * hiss


def test_each_clip_is_a_segment_with_its_own_sound(tmp_path: Path) -> None:
    path = write(tmp_path / "a.wav", speech(*CARDS, pause=2.0)[:, np.newaxis], subtype="PCM_16")
    recording = open_recording([path])
    (raw,) = np.concatenate(list(recording.blocks()), axis=1)
    denoiser = Denoiser()
    whole = np.concatenate([denoiser.push(raw), denoiser.finish()])
    found = list(segments(recording))
    assert len(found) == len(CARDS)
    for (segment, samples), (start, end) in zip(found, starts_of(CARDS, 2.0), strict=True):
        assert start - LEAD <= segment.start < start + 8_000
        assert end - 16_000 < segment.end <= end + TAIL + 512
        assert np.array_equal(samples, whole[segment.start : segment.end])


@pytest.mark.parametrize("seconds", [0.5, 5, 30])
def test_blocks_change_no_segment(seconds: float, two_channels: NDArray[np.float32]) -> None:
    whole = segment_all(two_channels, two_channels.shape[1])
    parts = segment_all(two_channels, round(seconds * 16_000))
    assert len(whole) > 8
    assert [segment for segment, _ in parts] == [segment for segment, _ in whole]
    for (_, left), (_, right) in zip(parts, whole, strict=True):
        assert np.array_equal(left, right)


def test_a_recording_may_be_gone_on_with(two_channels: NDArray[np.float32]) -> None:
    """The same segments, so much later."""
    later = Segmenter(2, first=100_000)
    found = [*later.push(two_channels[:, :160_000]), *later.pending(), *later.finish()]
    first = Segmenter(2)
    expected = [*first.push(two_channels[:, :160_000]), *first.pending(), *first.finish()]
    assert len(found) > 2
    for (segment, audio), (there, same) in zip(found, expected, strict=True):
        assert segment == moved(there, 100_000)
        assert segment.start == there.start + 100_000
        assert np.array_equal(audio, same)


def test_segments_come_in_order_of_their_start(two_channels: NDArray[np.float32]) -> None:
    found = [segment for segment, _ in segment_all(two_channels, 16_000)]
    assert found == sorted(found, key=lambda segment: (segment.start, segment.channel))
    assert {segment.channel for segment in found} == {0, 1}


def test_speech_comes_out_soon_after_it_ended() -> None:
    """A segment waits 0.2 s for what might join it, and not for the next speech.

    The denoiser holds up to a frame back.
    """
    clip = speech("goforward.raw")[np.newaxis]
    ((segment, _),) = segment_all(clip, 16_000)
    end = segment.bursts[-1].end
    segmenter = Segmenter(1)
    waits = JoinRules().gap
    assert segmenter.push(clip[:, : end + waits - FRAME]) == []
    soon = segmenter.push(clip[:, end + waits - FRAME : end + waits + 2 * FRAME])
    assert [early for early, _ in soon] == [segment]


def test_speech_can_be_listened_to_before_it_is_sure_to_be_over() -> None:
    """With all its sound, half of the wait before; where speech goes on, it was not over."""
    clip = speech("goforward.raw")[np.newaxis]
    ((segment, samples),) = segment_all(clip, 16_000)
    end = segment.bursts[-1].end
    segmenter = Segmenter(1)
    tail = JoinRules().tail
    segmenter.push(clip[:, : end + tail - FRAME])
    assert segmenter.perhaps_over() == []
    assert segmenter.push(clip[:, end + tail - FRAME : end + tail + 2 * FRAME]) == []
    ((ahead, sound),) = segmenter.perhaps_over()
    assert ahead == segment
    assert np.array_equal(sound, samples)


def test_speech_up_to_the_last_sample_is_kept() -> None:
    clip = speech("goforward.raw", pause=0.0)[:30_001]
    ((segment, samples),) = segment_all(clip[np.newaxis], 16_000)
    assert segment.end == segment.bursts[-1].end == len(clip)
    assert len(samples) == segment.end - segment.start


def test_a_leak_is_logged_once_and_the_answer_stays() -> None:
    """The conductor 15 dB down in the answering position's microphone, the answer 0.2 s later."""
    asked, answer = speech("goforward.raw"), speech("cards/003.wav", pause=0.0)
    leak = asked * 10 ** (-15 / 20)
    own = np.concatenate([leak[:-13_000], answer, np.zeros(32_000, np.float32)])
    block = side_by_side(asked, own)
    block += np.random.default_rng(5).standard_normal(block.shape).astype(np.float32) * 0.0005
    found = [segment for segment, _ in segment_all(block, 30 * 16_000)]
    assert [segment.channel for segment in found] == [0, 1]
    assert found[1].start >= len(leak) - 13_000 - LEAD - 512


@pytest.mark.slow
def test_what_is_held_does_not_grow(two_channels: NDArray[np.float32]) -> None:
    """Ten minutes, in blocks of a second: no more than some seconds are kept at a time."""
    segmenter = Segmenter(2)
    held = 0
    for _ in range(12):
        for first in range(0, two_channels.shape[1], 16_000):
            segmenter.push(two_channels[:, first : first + 16_000])
            held = max(held, segmenter.held_samples)
    assert held < 20 * 16_000


def test_store_and_check_see_the_same_recording(tmp_path: Path) -> None:
    sound = side_by_side(speech(*CARDS), np.zeros(1, np.float32)).T
    path = write(tmp_path / "a.wav", sound, subtype="PCM_16")
    check = AudioCheck()
    with AudioStore(tmp_path / "audio", 2) as store:
        found = list(segments(open_recording([path]), check=check, store=store, block_seconds=1.0))
    assert {segment.channel for segment, _ in found} == {0}
    assert check.warnings() == ("no sound at all in channel 2",)
    kept, _ = soundfile.read(store.channels[0].path, dtype="int16")
    given, _ = soundfile.read(path, dtype="int16")
    assert np.array_equal(kept, given[:, 0])
