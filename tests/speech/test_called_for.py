"""What was just asked, and so is listened for."""

import pytest

from voxlog.sheet.phrases import Phrase
from voxlog.speech.called_for import CLEAR, FAINT, WITHIN, CalledFor, may_hold_answer, with_more
from voxlog.speech.utterance import Heard, Sayable, Utterance

PHRASES = (
    Phrase("vacuum pumps", "challenge", "13"),
    Phrase("pumps warm", "confirm", "13"),
    Phrase("inner hatch", "challenge", "11"),
    Phrase("hatch secure", "confirm", "11"),
    Phrase("affirm", "affirm"),
    Phrase("copied", "receipt"),
)
PLACES = {phrase.text: place for place, phrase in enumerate(PHRASES)}


def heard(words: str, evidence: float) -> Heard:
    return Heard(Sayable(words, PLACES[words]), evidence)


def said(words: str, end: float, evidence: float = 5.0, *, surmised: bool = False) -> Utterance:
    start = end - 1.0
    of = (heard(words, evidence),) if words else ()
    return Utterance(0, start, end, ((start, end),), "", of, surmised=surmised)


@pytest.mark.parametrize(
    ("before", "expected"),
    [
        ([], set()),
        ([said("vacuum pumps", 4.0)], {"13"}),
        ([said("vacuum pumps", 4.0), said("", 5.0)], {"13"}),
        ([said("vacuum pumps", 4.0), said("copied", 5.0)], {"13"}),
        ([said("vacuum pumps", 4.0), said("pumps warm", 5.0)], set()),
        ([said("vacuum pumps", 4.0), said("affirm", 5.0)], set()),
        ([said("vacuum pumps", 4.0), said("hatch secure", 5.0)], {"13"}),
        ([said("vacuum pumps", 4.0), said("pumps warm", 5.0, evidence=-0.1)], {"13"}),
        ([said("vacuum pumps", 4.0), said("pumps warm", 5.0, surmised=True)], {"13"}),
        ([said("vacuum pumps", 4.0), said("inner hatch", 5.0)], {"11"}),
        ([said("inner hatch", 5.0), said("vacuum pumps", 4.0)], {"11"}),
        ([said("vacuum pumps", 4.0, evidence=-0.1)], set()),
        # Too long ago, and not yet said.
        ([said("vacuum pumps", 6.0 - WITHIN)], {"13"}),
        ([said("vacuum pumps", 5.9 - WITHIN)], set()),
        ([said("vacuum pumps", 6.1)], set()),
    ],
)
def test_what_is_called_for(before: list[Utterance], expected: set[str]) -> None:
    assert CalledFor(PHRASES).items(before, 6.0) == expected


@pytest.mark.parametrize(
    ("utterances", "expected"),
    [
        ((), False),
        ((said("", 1.0),), False),
        ((said("copied", 1.0, FAINT),), False),
        ((said("copied", 1.0, FAINT + 0.1),), True),
        ((said("copied", 1.0, CLEAR),), True),
        ((said("copied", 1.0, CLEAR + 0.1),), False),
        ((said("vacuum pumps", 1.0, 1.0), said("copied", 2.0, 1.0)), False),
    ],
)
def test_what_may_hold_an_answer(utterances: tuple[Utterance, ...], expected: bool) -> None:
    assert may_hold_answer(utterances) == expected


def test_each_is_as_clear_as_it_was_ever_heard() -> None:
    found = with_more(
        [heard("copied", 1.0), heard("affirm", -2.0)], [heard("affirm", 0.5), heard("copied", 0.0)]
    )
    assert found == (heard("copied", 1.0), heard("affirm", 0.5))
