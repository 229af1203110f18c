"""What may follow what in a breath, and for how much voice."""

import numpy as np
import pytest

from voxlog.sheet.phrases import Phrase, Slot
from voxlog.speech.model import SpeechModel
from voxlog.speech.reading import Listening, Reading, Readings, _says_again
from voxlog.speech.search import Ending
from voxlog.speech.vocabulary import Vocabulary, build_vocabulary, sayables

TEMPERATURE = Slot("number", "degC", 15, 25, 1)
PHRASES = (
    Phrase("recorder running", "challenge", "1"),
    Phrase("running", "confirm", "1"),
    Phrase("not running", "deny", "1"),
    Phrase("checked", "confirm", "1"),
    Phrase("cabin temperature", "challenge", "2"),
    Phrase("{value}", "value", "2", slot=TEMPERATURE),
    Phrase("correction", "correction"),
    Phrase("roger", "receipt"),
)


@pytest.fixture(scope="module")
def vocabulary(model: SpeechModel) -> Vocabulary:
    return build_vocabulary(sayables(PHRASES), model.tokens, model.prompt, model.end_of_text)


@pytest.fixture(scope="module")
def readings(vocabulary: Vocabulary) -> Readings:
    return Readings(vocabulary, PHRASES)


def ending(vocabulary: Vocabulary, words: str) -> Ending:
    node = next(node for node, said in vocabulary.ends.items() if said[0].text == words)
    return Ending(node, 0.0, 0.0, 0, np.zeros((1, 1), np.float32))


def read(readings: Readings, vocabulary: Vocabulary, words: str, voiced: float = 2.0) -> Reading:
    """ "recorder running / checked" as a reading of so much voice."""
    endings = tuple(ending(vocabulary, part) for part in words.split(" / "))
    return readings.weigh(endings, Listening("", voiced, 1))


@pytest.mark.parametrize(
    ("words", "left", "expected"),
    [
        # Half a second for any phrase, less for what is called for.
        ("roger", 0.46, True),
        ("roger", 0.44, False),
        ("recorder running", 0.31, True),
        ("recorder running", 0.29, False),
        ("recorder running / checked", 0.44, False),
        ("eighteen / correction", 0.31, True),
        ("eighteen / correction", 0.29, False),
    ],
)
def test_how_much_voice_must_be_left(
    readings: Readings, vocabulary: Vocabulary, words: str, left: float, expected: bool
) -> None:
    """0.27 s for a start and 0.048 s a letter, as `pace` has them."""
    said = 0.27 + 0.048 * len(words.replace(" / ", " "))
    reading = read(readings, vocabulary, words)
    assert readings.leaves_voice(reading, said + left) == expected


@pytest.mark.parametrize(
    ("head", "next_", "left", "expected"),
    [
        ("recorder running", "checked", 0.3, True),
        # An answer in words of its challenge needs the time to say them.
        ("recorder running", "running", 0.3, False),
        ("recorder running", "running", 0.4, True),
        ("recorder running", "not running", 0.5, False),
        ("recorder running", "not running", 0.6, True),
        # A number takes the place of another after "correction" only.
        ("cabin temperature / eighteen", "nineteen", 1.0, False),
        ("cabin temperature / eighteen", "correction", 1.0, True),
        ("cabin temperature / eighteen / correction", "nineteen", 0.3, True),
    ],
)
def test_what_may_follow(
    readings: Readings, vocabulary: Vocabulary, head: str, next_: str, left: float, expected: bool
) -> None:
    said = 0.27 + 0.048 * len(head.replace(" / ", " "))
    heard = Listening("", said + left, 1)
    reading = read(readings, vocabulary, head)
    assert readings.may_follow(reading, ending(vocabulary, next_), heard) == expected


@pytest.mark.parametrize(
    ("words", "called_for"),
    [
        ("roger", 0),
        ("recorder running / checked", 1),
        ("cabin temperature / checked", 0),
        ("cabin temperature / eighteen", 1),
        ("cabin temperature / eighteen / correction / nineteen", 3),
        ("roger / correction", 0),
    ],
)
def test_what_is_called_for_costs_less_than_any_phrase(
    readings: Readings, vocabulary: Vocabulary, words: str, called_for: int
) -> None:
    assert read(readings, vocabulary, words).marks.answered == called_for


@pytest.mark.parametrize(
    ("said", "text", "expected"),
    [
        ("three two one now", "three two one", True),
        ("subject saturation seven three percent", "seven three percent", True),
        ("flight level one five zero", "one five zero zero", True),
        ("two minutes", "mask pressure nine", False),
        ("subject ready for mask off", "mask off on my mark", False),
        ("hold at eight thousand", "steady at eight thousand", False),
        ("one", "one two", True),
    ],
)
def test_words_that_were_just_said_are_known(said: str, text: str, expected: bool) -> None:
    assert _says_again(said, text) == expected
