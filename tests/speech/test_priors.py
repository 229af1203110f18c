"""The prior is computed once, kept, and computed again when what was kept is no good."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from voxlog.speech import priors
from voxlog.speech.priors import _pink, prior_of
from voxlog.speech.search import Prior
from voxlog.speech.utterance import Sayable
from voxlog.speech.vocabulary import Vocabulary, build_vocabulary

MODEL = SimpleNamespace(files=SimpleNamespace(sha256="a" * 64))
NOISES = (0.0, 2.0)


def vocabulary(*texts: str) -> Vocabulary:
    said = [Sayable(text, n) for n, text in enumerate(texts)]
    return build_vocabulary(said, lambda text: list(text.encode()), [1, 2], 90_000)


SMALL = vocabulary("roger", "ready")


@pytest.fixture
def scored(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Which noises the vocabulary was scored on; the score is the noise's own number."""
    calls: list[float] = []

    def score(asked: Vocabulary, _: object, noise: float) -> Prior:
        calls.append(noise)
        return Prior(np.full(len(asked.token), noise, np.float32), np.arange(3, dtype=np.float32))

    monkeypatch.setattr(priors, "_score", score)
    return calls


def ask(cache: Path, words: Vocabulary = SMALL, model: object = MODEL) -> Prior:
    return prior_of(words, model, NOISES, cache)  # type: ignore[arg-type]


def test_the_prior_is_the_mean_over_the_noises(tmp_path: Path, scored: list[float]) -> None:
    found = ask(tmp_path)
    assert found.token.tolist() == [1.0] * len(SMALL.token)
    assert found.end.tolist() == [0, 1, 2]
    assert scored == [0.0, 2.0]


def test_the_second_time_it_is_there(tmp_path: Path, scored: list[float]) -> None:
    first, second = ask(tmp_path), ask(tmp_path)
    assert len(scored) == 2
    assert np.array_equal(first.token, second.token)
    assert np.array_equal(first.end, second.end)
    assert [file.suffix for file in (tmp_path / "priors").iterdir()] == [".npz"]


@pytest.mark.parametrize(
    ("words", "sha256"),
    [
        (vocabulary("roger", "ready", "on"), "a" * 64),
        (vocabulary("roger"), "a" * 64),
        (replace(SMALL, among=SMALL.among[:-1]), "a" * 64),
        (SMALL, "b" * 64),
    ],
)
def test_another_sheet_or_model_has_its_own(
    tmp_path: Path, scored: list[float], words: Vocabulary, sha256: str
) -> None:
    ask(tmp_path)
    ask(tmp_path, words, SimpleNamespace(files=SimpleNamespace(sha256=sha256)))
    assert len(scored) == 4


@pytest.mark.parametrize(
    "damage", [b"", b"no archive", b"PK\x03\x04 no archive", "cut", "other names"]
)
def test_a_damaged_file_is_made_again(
    tmp_path: Path, scored: list[float], damage: bytes | str
) -> None:
    ask(tmp_path)
    (file,) = (tmp_path / "priors").iterdir()
    if damage == "cut":
        file.write_bytes(file.read_bytes()[:-40])
    elif damage == "other names":
        np.savez(file, other=np.zeros(3))
    else:
        assert isinstance(damage, bytes)
        file.write_bytes(damage)
    assert ask(tmp_path).end.tolist() == [0, 1, 2]
    assert len(scored) == 4
    ask(tmp_path)
    assert len(scored) == 4


def test_a_cache_that_cannot_be_written_costs_only_time(
    tmp_path: Path, scored: list[float]
) -> None:
    """Here a file stands where the folder should."""
    cache = tmp_path / "cache"
    cache.write_bytes(b"a file")
    for calls in (2, 4):
        assert ask(cache).end.tolist() == [0, 1, 2]
        assert len(scored) == calls


def test_a_full_disk_leaves_no_half_file(
    tmp_path: Path, scored: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_space(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(np, "savez", no_space)
    ask(tmp_path)
    assert list((tmp_path / "priors").iterdir()) == []


def test_the_noise_is_in_the_band_and_the_same_each_time() -> None:
    noise = _pink(11)
    assert np.array_equal(noise, _pink(11))
    assert not np.array_equal(noise, _pink(12))
    power = np.abs(np.fft.rfft(noise)) ** 2
    hertz = np.fft.rfftfreq(len(noise), 1 / 16_000)
    assert power[(hertz >= 300) & (hertz <= 3400)].sum() > 0.999 * power.sum()
