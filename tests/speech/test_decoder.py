"""The decoder against CTranslate2, which runs the same weights by code of its own."""

from collections.abc import Callable
from typing import NamedTuple

import ctranslate2
import numpy as np
import pytest
from numpy.typing import NDArray

from voxlog.speech import decoder
from voxlog.speech.decoder import AudioMemory
from voxlog.speech.model import SpeechModel

Floats = NDArray[np.float32]

TEXTS = (
    *("oxygen regulator", "on one hundred", "on", "mask hose connected", "not connected"),
    *("passing two five thousand", "passing flight level two five zero", "1450", "25,000"),
    *("affirm", "negative", "roger", "say again", "three two one now", "helmet and visor"),
    *("visor down and locked", "Hello there, how are you?", "saturation eighty eight percent"),
    *("time one minute thirty", "the mask hose was new last week"),
)


class Chain(NamedTuple):
    """Log-probabilities of a text: each token after those before it, and its end after each."""

    said: Floats
    stop: Floats


def chain(
    model: SpeechModel, memory: AudioMemory, text: list[int], among: NDArray[np.int64]
) -> Chain:
    """One text by itself, a token at a time."""
    place = {int(token): column for column, token in enumerate(among)}
    decoding = model.decoding(memory)
    after = [decoding.start(model.prompt, among)[0]]
    for token in text:
        after += list(decoding.extend(np.array([token]), np.array([decoding.rows - 1]), among))
    end = place.get(model.end_of_text)
    return Chain(
        np.array([after[n][place[token]] for n, token in enumerate(text)]),
        np.array([row[end] for row in after] if end is not None else []),
    )


class Sound(NamedTuple):
    """Encoded audio, and the same as the decoder looks at it."""

    encoded: Floats
    memory: AudioMemory


@pytest.fixture(scope="module")
def sound(model: SpeechModel, encoded: Floats) -> Sound:
    return Sound(encoded, model.listen(encoded))


@pytest.fixture(scope="module")
def of_text(model: SpeechModel) -> NDArray[np.int64]:
    """All tokens of text, that is all before the end-of-text token."""
    return np.arange(model.end_of_text)


def ours(model: SpeechModel, sound: Sound, among: NDArray[np.int64]) -> list[Floats]:
    return [chain(model, sound.memory, model.tokens(f" {text}"), among).said for text in TEXTS]


def theirs(model: SpeechModel, sound: Sound, compute_type: str) -> list[Floats]:
    """Log-probabilities of the same tokens by `align`.

    It puts "no timestamps" after the start sequence by itself, and normalises over the tokens of
    text, that is all before the end-of-text token (as in OpenAI's whisper/timing.py).
    """
    whisper = ctranslate2.models.Whisper(
        str(model.files.folder), compute_type=compute_type, intra_threads=1
    )
    heard = ctranslate2.StorageView.from_array(sound.encoded[np.newaxis])
    frames = 2 * len(sound.encoded)
    return [
        np.log(whisper.align(heard, model.prompt[:-1], [tokens], [frames])[0].text_token_probs)
        for tokens in (model.tokens(f" {text}") for text in TEXTS)
    ]


@pytest.mark.slow
def test_it_is_ctranslate2_in_float32(
    model: SpeechModel, sound: Sound, of_text: NDArray[np.int64]
) -> None:
    """Twenty texts, likely and unlikely ones: log-probabilities from 0 to -20, alike to 1e-3."""
    expected = theirs(model, sound, "float32")
    assert min(values.min() for values in expected) < -15
    for found, right in zip(ours(model, sound, of_text), expected, strict=True):
        assert np.allclose(found, right, rtol=1e-3, atol=1e-3)


@pytest.mark.slow
def test_it_is_close_to_ctranslate2_as_the_free_transcription_has_it(
    model: SpeechModel, sound: Sound, of_text: NDArray[np.int64]
) -> None:
    """In nats, with its rounding to 8 bits. Evidence is in nats; thin margins are under one."""
    found = np.concatenate(ours(model, sound, of_text))
    off = np.abs(found - np.concatenate(theirs(model, sound, "int8")))
    assert np.median(off) < 0.2
    assert off.max() < 1.5


@pytest.mark.parametrize("worth", [0, 64, 10_000])
def test_a_tree_grown_level_by_level_is_its_chains(
    model: SpeechModel, sound: Sound, monkeypatch: pytest.MonkeyPatch, worth: int
) -> None:
    """Each node looks at its own ancestors only, so that its score is that of its text alone,
    whether or not the rows that nobody looks at are left out.
    """
    monkeypatch.setattr(decoder, "_WORTH_LEAVING_OUT", worth)
    tokens = [model.tokens(f" {text}") for text in TEXTS]
    among = np.union1d(np.arange(3000), [*np.concatenate(tokens), model.end_of_text])
    place = {int(token): column for column, token in enumerate(among)}
    decoding = model.decoding(sound.memory)
    after = {(): decoding.start(model.prompt, among)[0]}
    row = {(): decoding.rows - 1}
    for length in range(1, max(map(len, tokens)) + 1):
        new = sorted({tuple(one[:length]) for one in tokens if len(one) >= length})
        first = decoding.rows
        found = decoding.extend(
            np.array([one[-1] for one in new]), np.array([row[one[:-1]] for one in new]), among
        )
        after |= dict(zip(new, found, strict=True))
        row |= {one: first + n for n, one in enumerate(new)}
    for text in tokens:
        alone = chain(model, sound.memory, text, among)
        grown = [after[tuple(text[:n])][place[token]] for n, token in enumerate(text)]
        stops = [after[tuple(text[:n])][place[model.end_of_text]] for n in range(len(text) + 1)]
        assert np.allclose(grown, alone.said, atol=1e-3)
        assert np.allclose(stops, alone.stop, atol=1e-3)
    assert decoding.rows == len(model.prompt) + len(after) - 1
    assert decoding.depth(row[tuple(tokens[0])]) == len(model.prompt) + len(tokens[0]) - 1


def test_nodes_one_by_one_are_nodes_at_once(model: SpeechModel, sound: Sound) -> None:
    among = np.arange(1000)
    tokens, parents = np.array([11, 12, 13, 14]), np.array([1, 1, 2, 4])
    at_once = model.decoding(sound.memory)
    at_once.start(model.prompt, among)
    level = [at_once.extend(tokens[:2], parents[:2], among)]
    level += [at_once.extend(tokens[2:3], parents[2:3], among)]
    level += [at_once.extend(tokens[3:], parents[3:], among)]
    singly = model.decoding(sound.memory)
    singly.start(model.prompt, among)
    for n, expected in enumerate(np.concatenate(level)):
        (found,) = singly.extend(tokens[n : n + 1], parents[n : n + 1], among)
        assert np.allclose(found, expected, atol=1e-3)


def test_normalising_among_some_tokens_shifts_them_alike(model: SpeechModel, sound: Sound) -> None:
    every = np.arange(model.end_of_text + 1)
    some = np.array([model.end_of_text, *range(500)])
    of_all = model.decoding(sound.memory).start(model.prompt, every)[0]
    of_some = model.decoding(sound.memory).start(model.prompt, some)[0]
    assert np.exp(of_some).sum() == pytest.approx(1, abs=1e-4)
    assert np.allclose(of_some, of_all[some] - np.log(np.exp(of_all[some]).sum()), atol=1e-3)


def test_what_was_said_is_likelier_than_what_was_not(
    model: SpeechModel, demo: Callable[[float, float], Floats], of_text: NDArray[np.int64]
) -> None:
    """Pieces of the recording (demo.truth.csv) against each other's words."""
    pieces = {
        " oxygen regulator": (16.8, 18.6),
        " mask hose connected": (25.4, 26.9),
        " helmet and visor": (29.8, 31.4),
        " start the descent": (199.4, 200.9),
    }
    for said, place in pieces.items():
        memory = model.listen(model.encode(demo(*place)))
        scores = {
            words: chain(model, memory, model.tokens(words), of_text).said.sum() for words in pieces
        }
        assert max(scores, key=lambda words: scores[words]) == said
