"""Utterances of the scenarios' sheets, for the tests of single modules."""

from tests.follow.scenario import Listed, listed
from voxlog.follow.evidence import ActEvidence, PhraseIndex, weigh
from voxlog.speech.utterance import Heard, Utterance

__all__ = ["CHECKS", "FLIGHT", "act", "utterance", "weighed"]

CHECKS, FLIGHT = listed("checks"), listed("flight")


def utterance(
    known: Listed, start: float = 0.0, end: float | None = None, **heard: float
) -> Utterance:
    """`heard` gives evidence by the words, with _ for a space; what else could be said was not."""
    found = [
        Heard(sayable, evidence)
        for words, evidence in heard.items()
        for sayable in known.said
        if sayable.text == words.replace("_", " ")
    ]
    assert {one.sayable.text for one in found} == {words.replace("_", " ") for words in heard}
    end = start + 1.0 if end is None else end
    return Utterance(
        channel=0,
        start=start,
        end=end,
        bursts=((start, end),),
        text=" ".join(heard).replace("_", " "),
        heard=tuple(sorted(found, key=lambda one: -one.evidence)),
    )


def weighed(
    known: Listed, start: float = 0.0, position: str = "", end: float | None = None, **heard: float
) -> ActEvidence:
    """The same as evidence for acts."""
    index = PhraseIndex(known.sheet, known.phrases)
    return weigh(utterance(known, start, end, **heard), index, position)


def act(known: Listed, number: int) -> int:
    """The step index of an item."""
    return [step.key for _, step in known.sheet.steps].index(str(number))
