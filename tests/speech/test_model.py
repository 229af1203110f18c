"""The speech model: windows, tokens, free text, and no network."""

import socket
from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.speech.lockstep import in_lockstep
from voxlog.speech.model import WINDOWS, SpeechModel
from voxlog.speech.model_files import ModelFiles

Floats = NDArray[np.float32]


@pytest.mark.parametrize(
    ("seconds", "frames"),
    [(0.1, 300), (2.9, 300), (3.5, 600), (9.0, 1000), (14.0, 1500), (29, 3000)],
)
def test_a_window_is_no_longer_than_it_need_be(
    model: SpeechModel, seconds: float, frames: int
) -> None:
    """Two feature frames make one of the encoder's."""
    assert frames in WINDOWS
    noise = np.random.default_rng(1).standard_normal(round(seconds * 16_000)).astype(np.float32)
    assert model.encode(noise * 0.01).shape == (frames // 2, 384)


@pytest.mark.parametrize("text", [" oxygen regulator", " 25,000 feet", " SpO2 88%", ""])
def test_tokens_are_the_text(model: SpeechModel, text: str) -> None:
    tokens = model.tokens(text)
    assert all(token < model.end_of_text for token in tokens)
    assert model.text(tokens) == text.strip()


def test_the_prompt_asks_for_text_without_times(model: SpeechModel) -> None:
    assert model.text(model.prompt) == ""
    assert len(model.prompt) == 2


def test_free_text_is_what_was_said(
    model: SpeechModel, demo: Callable[[float, float], Floats]
) -> None:
    tokens = model.transcribe(model.encode(demo(25.4, 26.9)), 12)
    assert "hose connected" in model.text(tokens).lower()


@pytest.mark.parametrize("most", [1, 3])
def test_free_text_stops_where_it_is_told(model: SpeechModel, encoded: Floats, most: int) -> None:
    assert len(model.transcribe(encoded, most)) <= most


def test_free_text_found_together_is_that_found_alone(
    model: SpeechModel, demo: Callable[[float, float], Floats]
) -> None:
    """Pieces of two window lengths, with much and little room for their text."""
    places = [(16.8, 18.6), (25.4, 26.9), (25.4, 29.9), (29.8, 31.4), (16.8, 19.9), (16.8, 18.6)]
    most = (12, 12, 20, 4, 9, 2)
    heard = [model.encode(demo(*place)) for place in places]
    assert len({len(one) for one in heard}) > 1
    alone = list(map(model.transcribe, heard, most))
    calls = [partial(model.transcribe, *one) for one in zip(heard, most, strict=True)]
    assert in_lockstep(calls) == alone
    assert len({len(tokens) for tokens in alone}) > 2


def test_words_begin_where_they_are_spoken(
    model: SpeechModel, demo: Callable[[float, float], Floats]
) -> None:
    """The truth of the recording has "oxygen regulator" until 18.5 s, the answer until 19.55 s."""
    words = ["oxygen", "regulator", "on", "one", "hundred"]
    for first in (16.8, 15.5):  # the first words begin where all begins, whatever that is
        begins = first + model.begins(model.encode(demo(first, 20.2)), words, 20.2 - first)
        assert len(begins) == 6
        assert begins[0] == pytest.approx(first)
        assert all(np.diff(begins) >= 0)
        assert begins[2] == pytest.approx(18.5, abs=0.4)
        assert begins[5] == pytest.approx(19.55, abs=0.25)


def test_loading_opens_no_socket(model_files: ModelFiles, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor does listening: encode, transcribe, score."""

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket.socket, "connect", refused)
    monkeypatch.setattr(socket, "create_connection", refused)
    monkeypatch.setattr(socket, "getaddrinfo", refused)
    loaded = SpeechModel(model_files, threads=1)
    encoded = loaded.encode(np.zeros(16_000, np.float32))
    loaded.transcribe(encoded, 3)
    loaded.decoding(loaded.listen(encoded)).start(loaded.prompt, np.arange(10))
