"""Cuts are those of the file to the sample, mixed or alone, whatever state the file is in."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from voxlog.review_page.sound import RunSound

RATE = 16_000


def noise(seed: int, seconds: float, scale: int = 6000) -> np.ndarray:
    drawn = np.random.default_rng(seed).normal(0, scale, int(seconds * RATE))
    return drawn.clip(-32768, 32767).astype(np.int16)


@pytest.fixture
def files(tmp_path: Path) -> list[tuple[Path, np.ndarray]]:
    made = []
    for number, samples in enumerate((noise(1, 3), noise(2, 2), noise(3, 3, 30000)), 1):
        path = tmp_path / f"channel-{number}.flac"
        soundfile.write(path, samples, RATE, format="FLAC", subtype="PCM_16")
        padded = np.zeros(3 * RATE, np.int16)
        padded[: len(samples)] = samples
        made.append((path, padded))
    return made


@pytest.mark.parametrize(
    ("first", "end"),
    [(0, 48000), (0, 1), (15_999, 16_001), (31_000, 33_000), (47_999, 99_999), (50, 50)],
)
def test_a_cut_is_the_file_to_the_sample(
    files: list[tuple[Path, np.ndarray]], first: int, end: int
) -> None:
    with RunSound([path for path, _ in files], 3 * RATE) as sound:
        for channel, (_, samples) in enumerate(files, 1):
            assert np.array_equal(sound.cut(channel, first, end), samples[first:end])
        mixed = np.sum([samples.astype(np.int64) for _, samples in files], axis=0)
        expected = mixed.clip(-32768, 32767)[first:end]
        assert np.array_equal(sound.cut(0, first, end), expected)
        assert sound.faults == ()


def test_the_overview_is_the_loudest_of_all_channels(
    files: list[tuple[Path, np.ndarray]],
) -> None:
    with RunSound([path for path, _ in files], 3 * RATE) as sound:
        found = sound.overview(3)
    every = np.abs(np.stack([samples for _, samples in files]).astype(np.int32)).max(axis=0)
    expected = every.reshape(3, -1).max(axis=1) * 1000 // 32768
    assert found == pytest.approx(expected, abs=1)


@pytest.mark.parametrize("kept", [0, 40, 3000])
def test_what_a_damaged_file_lacks_is_silence_and_told(
    files: list[tuple[Path, np.ndarray]], kept: int
) -> None:
    path, samples = files[0]
    path.write_bytes(path.read_bytes()[:kept])
    with RunSound([path, files[1][0]], 3 * RATE) as sound:
        assert np.array_equal(sound.cut(2, 0, 48000), files[1][1])
        found = sound.cut(1, 0, 48000)
        assert not found[-16000:].any()
        heard = np.flatnonzero(found)
        upto = heard[-1] + 1 if len(heard) else 0
        assert np.array_equal(found[:upto], samples[:upto])


def test_it_ends_while_it_reads(tmp_path: Path) -> None:
    path = tmp_path / "long.flac"
    soundfile.write(path, np.zeros(600 * RATE, np.int16), RATE, format="FLAC")
    with RunSound([path], 600 * RATE) as sound:
        pass
    assert not sound._thread.is_alive()


def test_nothing_to_see_stays_behind(
    files: list[tuple[Path, np.ndarray]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sound of a run is copied to where no name leads to it, so no kill can leave it there."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(folder))
    with RunSound([files[0][0]], 3 * RATE) as sound:
        sound.cut(1, 0, 48000)
        assert list(folder.iterdir()) == []
