from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.debrief.made import RATE, a_run, a_sound
from voxlog.debrief.sound import BUCKETS, Window, read_sound


def folder(tmp_path: Path, *channels: np.ndarray, rate: int = RATE) -> Path:
    (tmp_path / "audio").mkdir()
    for n, samples in enumerate(channels, 1):
        soundfile.write(tmp_path / f"audio/channel-{n}.flac", samples, rate)
    return tmp_path


def test_the_outline_is_that_of_the_samples(tmp_path: Path) -> None:
    samples = np.random.default_rng(7).uniform(-0.5, 0.5, 100 * RATE).astype(np.float32)
    sound = read_sound(folder(tmp_path, samples), a_run(positions=("",)), [])
    kept = soundfile.read(tmp_path / "audio/channel-1.flac", dtype="float32")[0]
    edges = [round(n * len(kept) / BUCKETS) for n in range(BUCKETS + 1)]
    for n in (0, 1, 450, BUCKETS - 1):
        piece = kept[edges[n] : edges[n + 1]]
        assert sound.channels[1].highest[n] == pytest.approx(piece.max(), abs=1e-3)
        assert sound.channels[1].lowest[n] == pytest.approx(piece.min(), abs=1e-3)
    assert sound.channels[1].peak == np.abs(kept).max()
    assert sound.channels[1].rms == pytest.approx(np.sqrt(np.mean(kept**2)), rel=1e-4)


def test_clips_are_all_channels_together(tmp_path: Path) -> None:
    one, two = a_sound(100, 1), a_sound(100, 2)
    windows = [Window(1.0, 2.0), Window(99.5, 100.0), Window(16.0, 17.0)]
    sound = read_sound(folder(tmp_path, one, two), a_run(), windows)
    for window, clip in zip(windows, sound.clips, strict=True):
        span = slice(round(window.start * RATE), round(window.end * RATE))
        assert clip == pytest.approx((one + two)[span], abs=2e-4)


def test_what_is_too_loud_together_is_not_cut_off(tmp_path: Path) -> None:
    loud = np.full(RATE * 100, 0.9, np.float32)
    (clip,) = read_sound(folder(tmp_path, loud, loud), a_run(), [Window(0, 1)]).clips
    assert clip.max() == pytest.approx(1.0)


@pytest.mark.parametrize("rate", [8000, 44_100, 48_000])
def test_a_recording_at_another_rate(tmp_path: Path, rate: int) -> None:
    tone = np.sin(2 * np.pi * 440 * np.arange(rate * 100) / rate).astype(np.float32) * 0.5
    (clip,) = read_sound(folder(tmp_path, tone, rate=rate), a_run(), [Window(10, 11)]).clips
    spectrum = np.abs(np.fft.rfft(clip))
    assert len(clip) == RATE
    assert np.argmax(spectrum) == 440


@pytest.mark.parametrize("data", [None, b"", b"fLaC", b"not audio at all"])
def test_a_channel_that_cannot_be_read_is_left_out(tmp_path: Path, data: bytes | None) -> None:
    place = folder(tmp_path, a_sound(100, 1))
    if data is not None:
        (place / "audio/channel-2.flac").write_bytes(data)
    sound = read_sound(place, a_run(), [Window(1, 2)])
    assert set(sound.channels) == {1}
    assert len(sound.clips) == 1


def test_a_run_without_any_sound_has_no_clips(tmp_path: Path) -> None:
    assert read_sound(tmp_path, a_run(), [Window(1, 2)]).clips == ()


def test_a_recording_shorter_than_the_log_says(tmp_path: Path) -> None:
    sound = read_sound(folder(tmp_path, a_sound(3, 1)), a_run(positions=("",)), [Window(2.5, 4.0)])
    (clip,) = sound.clips
    assert len(clip) == 1.5 * RATE
    assert not clip[RATE // 2 + 10 :].any()
