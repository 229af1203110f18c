"""A recording as a source: every bit of it, at its own pace."""

import threading
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.audio.sounds import tone, write
from tests.capture.blocks import RATE, noise
from voxlog.audio.recording import open_recording
from voxlog.capture.block import Block
from voxlog.capture.finish import finish
from voxlog.capture.journal import Journal
from voxlog.capture.rehearsal import Rehearsal

WALL_NS = 1_764_063_000_000_000_000


def play(path: Path, speed: float) -> list[Block]:
    return list(Rehearsal(open_recording([path]), speed, WALL_NS).blocks())


def test_it_is_the_file_bit_for_bit(tmp_path: Path) -> None:
    """Every 16-bit value, in two channels and an odd length."""
    values = np.arange(-32768, 32767, dtype=np.int16)
    both = np.stack([values, values[::-1]])
    soundfile.write(tmp_path / "a.wav", both.T, RATE, subtype="PCM_16")
    source = Rehearsal(open_recording([tmp_path / "a.wav"]), 0)
    assert (source.channels, source.rate, source.name, source.fault) == (2, RATE, "a.wav", "")
    blocks = list(source.blocks())
    assert np.array_equal(np.concatenate([block.samples for block in blocks], axis=1), both)
    assert blocks[0].first == 0
    assert all(one.end == following.first for one, following in pairwise(blocks))
    assert {block.samples.dtype for block in blocks} == {np.dtype(np.int16)}
    assert {block.samples.shape[1] for block in blocks[:-1]} == {800}
    assert not any(block.lost for block in blocks)


@pytest.mark.parametrize("skip", [0, 1, 800, 1601, 8000])
def test_it_may_begin_later(skip: int, tmp_path: Path) -> None:
    samples = noise(1, 4000)
    soundfile.write(tmp_path / "a.wav", samples[0], RATE)
    blocks = list(Rehearsal(open_recording([tmp_path / "a.wav"]), 0, skip=skip).blocks())
    got = [block.samples for block in blocks]
    assert np.array_equal(np.concatenate([samples[:, :0], *got], axis=1), samples[:, skip:])
    assert [block.first for block in blocks][:1] == ([0] if skip < 4000 else [])


def test_other_rates_become_16_khz(tmp_path: Path) -> None:
    write(tmp_path / "a.wav", tone(1.0, rate=44_100), 44_100)
    assert play(tmp_path / "a.wav", 0)[-1].end == pytest.approx(16_000, abs=1)


@pytest.mark.parametrize("speed", [0, 4.0, 20.0])
def test_its_clocks_go_with_the_audio(speed: float, tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", noise(1, 8000)[0], RATE)
    started = time.monotonic()
    blocks = play(tmp_path / "a.wav", speed)
    took = time.monotonic() - started
    if speed:
        assert 0.5 / speed <= took < 0.5 / speed + 2
    assert [block.wall_ns - WALL_NS for block in blocks] == [
        50_000_000 * (number + 1) for number in range(10)
    ]
    offsets = {block.wall_ns - block.monotonic_ns for block in blocks}
    assert len(offsets) == 1


def test_it_stops_at_once_when_told(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", noise(1, 160_000)[0], RATE)
    source = Rehearsal(open_recording([tmp_path / "a.wav"]), 0.01)  # a block takes 5 s
    threading.Timer(0.1, source.stop).start()
    started = time.monotonic()
    assert list(source.blocks()) == []
    assert time.monotonic() - started < 3
    source.stop()


def test_no_speed_is_negative(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", noise(1, 800)[0], RATE)
    with pytest.raises(ValueError, match="negative"):
        Rehearsal(open_recording([tmp_path / "a.wav"]), -1)


def test_through_journal_and_flac_it_is_still_the_file(tmp_path: Path) -> None:
    """The whole way of a run's audio, as fast as it goes."""
    original = noise(2, 30 * RATE + 123)
    soundfile.write(tmp_path / "a.flac", original.T, RATE)
    source = Rehearsal(open_recording([tmp_path / "a.flac"]), 0)
    journal = Journal(tmp_path / "audio", source.channels, source.rate)
    for block in source.blocks():
        journal.push(block)
        journal.wait_for_room()
    assert journal.close() == original.shape[1]
    stored = finish(tmp_path / "audio")
    kept = [soundfile.read(channel.path, dtype="int16")[0] for channel in stored]
    assert np.array_equal(np.stack(kept), original)
