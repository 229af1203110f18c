"""What was just asked, and so is listened for by name in the speech that follows.

Unclear speech is searched for what fits it best among all that the sheet lists, and after
"vacuum pumps" the quiet "pumps warm" may not be among it. What a challenge calls for is so much
likelier than the rest that it is weighed whatever else fits better.
"""

from collections.abc import Iterable, Sequence

from voxlog.sheet.phrases import Phrase
from voxlog.speech.utterance import Heard, Utterance

__all__ = ["ANSWERING", "CalledFor", "may_hold_answer", "with_more"]

ANSWERING = frozenset({"confirm", "deny", "value", "affirm", "negative"})
"""What a phrase may be for that answers a challenge."""
WITHIN = 8.0
"""Seconds after a challenge in which its answer is listened for; 5 and 12 found the same answers
on the fit scenarios."""
CLEAR = 3.0
"""Nats from which speech is what it was heard as, and no quiet answer. On the fit scenarios at
0 dB it brought 5 of 189 items more right; 1.5 brought 3, and 6.0 brought 4."""
FAINT = -6.0
"""Nats up to which no answer was ever heard either: of 18 such segments on the fit scenarios none
fitted one better than -8."""


class CalledFor:
    """Knows of one sheet's phrases what they ask and answer."""

    def __init__(self, phrases: Sequence[Phrase]) -> None:
        self._phrases = phrases

    def items(self, before: Iterable[Utterance], moment: float) -> frozenset[str]:
        """The items that the last challenge before a moment asks, if nothing answered it yet.

        before: utterances of any channels, in whatever order; those that end after the moment, in
        seconds, do not count.
        """
        asked: frozenset[str] = frozenset()
        until = -WITHIN
        for one in sorted(before, key=lambda one: one.start):
            if one.surmised or one.end > moment or not one.heard or one.heard[0].evidence <= 0:
                continue
            meant = self._meant(one)
            challenged = {phrase.step for phrase in meant if phrase.act == "challenge"}
            if challenged:
                asked, until = frozenset(challenged), one.end + WITHIN
            elif any(_answers(phrase, asked) for phrase in meant):
                asked = frozenset()
        return asked if moment <= until else frozenset()

    def _meant(self, one: Utterance) -> list[Phrase]:
        """The phrases of the words that an utterance fits best."""
        best = one.heard[0].evidence
        return [self._phrases[h.sayable.phrase] for h in one.heard if h.evidence == best]


def may_hold_answer(utterances: Sequence[Utterance]) -> bool:
    """Whether a segment, heard as these, may hold an answer that was not made out."""
    if len(utterances) != 1 or not utterances[0].heard:
        return False
    return FAINT < utterances[0].heard[0].evidence <= CLEAR


def with_more(heard: Iterable[Heard], more: Iterable[Heard] = ()) -> tuple[Heard, ...]:
    """What an utterance may have been, best first, each once and as clear as it was ever heard."""
    best: dict[tuple[int, float | None], Heard] = {}
    for one in sorted((*heard, *more), key=lambda one: -one.evidence):
        best.setdefault((one.sayable.phrase, one.sayable.value), one)
    return tuple(best.values())


def _answers(phrase: Phrase, items: frozenset[str]) -> bool:
    return phrase.act in ANSWERING and bool(items) and phrase.step in ("", *items)
