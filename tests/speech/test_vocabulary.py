"""What can be said by a sheet, and the tree of its tokens. Tokens here are letters."""

import numpy as np
import pytest

from voxlog.sheet.phrases import Phrase, Slot
from voxlog.speech.utterance import Sayable
from voxlog.speech.vocabulary import COMMON_TOKENS, Vocabulary, build_vocabulary, sayables

PROMPT, END = [90_001, 90_002], 90_000


def letters(text: str) -> list[int]:
    """Above the common tokens, so that each is in `among` only because a text needs it."""
    return [COMMON_TOKENS + ord(letter) for letter in text]


def built(*texts: str) -> Vocabulary:
    said = [Sayable(text, n) for n, text in enumerate(texts)]
    return build_vocabulary(said, letters, PROMPT, END)


def spelled(vocabulary: Vocabulary, node: int) -> str:
    return "".join(chr(vocabulary.token[n] - COMMON_TOKENS) for n in vocabulary.path(node))


TEXTS = ("on", "on one hundred", "one", "off", "on")


def test_texts_are_merged_where_they_begin_alike() -> None:
    """A space and o are shared by all, n by four, and the fifth text is the first one again."""
    vocabulary = built(*TEXTS)
    assert len(vocabulary.token) == 1 + len(" on") + len(" one hundred") + len("e") + len("ff")
    assert {spelled(vocabulary, node) for node in vocabulary.ends} == {f" {text}" for text in TEXTS}


def test_a_node_ends_all_texts_that_are_the_same() -> None:
    vocabulary = built(*TEXTS)
    ends = {spelled(vocabulary, node): said for node, said in vocabulary.ends.items()}
    assert [one.phrase for one in ends[" on"]] == [0, 4]
    assert [one.phrase for one in ends[" one"]] == [2]


def test_parents_come_first_and_children_are_theirs() -> None:
    vocabulary = built(*TEXTS)
    assert vocabulary.parent[0] == -1
    for node, parent in enumerate(vocabulary.parent):
        assert parent < node
        assert node == 0 or node in vocabulary.children[parent]
    assert sum(map(len, vocabulary.children)) == len(vocabulary.token) - 1


def test_among_holds_every_token_once_and_the_end_first() -> None:
    vocabulary = built(*TEXTS)
    assert vocabulary.among[0] == END
    assert len(set(vocabulary.among.tolist())) == len(vocabulary.among)
    assert set(range(COMMON_TOKENS)) <= set(vocabulary.among.tolist())
    assert np.array_equal(vocabulary.among[vocabulary.column[1:]], vocabulary.token[1:])


def test_what_whisper_writes_is_what_is_listened_for() -> None:
    """The written form makes the path, the spoken one is what was said."""
    vocabulary = build_vocabulary(
        [Sayable("two five", 0, 25.0, written="25")], letters, PROMPT, END
    )
    ((node, (sayable,)),) = vocabulary.ends.items()
    assert (spelled(vocabulary, node), sayable.text) == (" 25", "two five")


def phrase(text: str, **slot: object) -> Phrase:
    rules = {"quantity": "number", "unit": "", "low": 0, "high": 0, "step": 1, **slot}
    return Phrase(text, "value", slot=Slot(**rules) if slot else None)


def said_by(one: Phrase) -> dict[float | None, set[str]]:
    """Value to what is listened for, as it is spoken or written."""
    found: dict[float | None, set[str]] = {}
    for sayable in sayables([one]):
        found.setdefault(sayable.value, set()).add(sayable.written or sayable.text)
    return found


def test_a_phrase_without_a_slot_is_said_as_it_stands() -> None:
    assert sayables([phrase("dump valve")]) == [Sayable("dump valve", 0)]


@pytest.mark.parametrize(
    ("one", "value", "forms"),
    [
        (
            phrase("{value} beats", low=60, high=62),
            61,
            {"sixty one beats", "six one beats", "61 beats"},
        ),
        (phrase("saturation {value} percent", low=88, high=88), 88, {"saturation 88%"}),
        (
            phrase(
                "passing {value}", quantity="altitude", unit="ft", low=25000, high=25000, step=1000
            ),
            25000,
            {"passing two five thousand", "passing 25,000"},
        ),
        (
            phrase("time {value}", quantity="duration", unit="s", low=60, high=120, step=30),
            90,
            {"time 1:30", "time one minute thirty"},
        ),
        (
            phrase("time {value}", quantity="duration", unit="s", low=30, high=30),
            30,
            {"time 30 seconds"},
        ),
        (phrase("resume at item {item}", low=1, high=9), 4, {"resume at item four"}),
    ],
)
def test_numbers_are_listened_for_in_words_and_in_figures(
    one: Phrase, value: float, forms: set[str]
) -> None:
    assert forms <= said_by(one)[value]


@pytest.mark.parametrize(
    ("slot", "values"),
    [
        ({"low": 1, "high": 3, "step": 1}, [1, 2, 3]),
        ({"low": 2.5, "high": 2.8, "step": 0.1}, [2.5, 2.6, 2.7, 2.8]),
        ({"low": 0, "high": 100, "step": 30}, [0, 30, 60, 90]),
        # Levels in finer steps than are called.
        ({"low": 1000, "high": 2000, "step": 1, "quantity": "altitude"}, [1000, 1500, 2000]),
    ],
)
def test_the_values_of_a_slot(slot: dict[str, object], values: list[float]) -> None:
    assert sorted(v for v in said_by(phrase("{value}", **slot)) if v is not None) == values


def test_a_slot_has_no_more_values_than_can_be_listened_for() -> None:
    assert len(said_by(phrase("{value}", low=0, high=900_000, step=1))) <= 401
