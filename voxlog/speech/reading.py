"""A reading of a segment: the sheet's phrases in a row, what speaks for them, and what may follow.

A phrase is a node of the vocabulary's tree; what the sheet says of it (its words, what it asks,
what answers it) is looked up here, once for a sheet.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from rapidfuzz import fuzz

from voxlog.numbers.normalise import normalise
from voxlog.sheet.phrases import Act, Phrase
from voxlog.speech.called_for import ANSWERING
from voxlog.speech.evidence import Marks, evidence_of
from voxlog.speech.free_text import parted_after
from voxlog.speech.pace import pace_evidence, seconds_to_say
from voxlog.speech.search import Ending
from voxlog.speech.utterance import Sayable
from voxlog.speech.vocabulary import Vocabulary

__all__ = ["Listening", "Reading", "Readings"]

_RECEIPTS: frozenset[Act] = frozenset({"receipt", "say-again", "stand-by"})
SHORTEST_PHRASE, SHORTEST_ANSWER = 0.45, 0.30
"""Seconds of voice that a further phrase needs, and what is called for: an answer after its
challenge, another after "correction". Where the best reading of one phrase leaves less, none is
looked for: of 433 segments (fit-a, fit-b, 10 and 5 dB) 15 held two phrases, and each left 0.6 s or
more; the search for more than one took two fifths of the time. An answer at once, as in fit-c,
leaves less: "altimeters, set"."""


@dataclass(frozen=True, slots=True)
class Listening:
    """What a segment is read against: the words of its free text, and its voice.

    voiced: seconds of voice. starts: how often it set in after a pause that no phrase has.
    """

    words: str
    voiced: float
    starts: int


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a whole segment: phrases in a row, with what speaks for them.

    begun: how good a beginning it is in nats, whatever follows. evidence: of the reading as it
    stands, in nats.
    """

    endings: tuple[Ending, ...]
    marks: Marks
    begun: float
    evidence: float


class Readings:
    """Weighs readings of one sheet's phrases, and knows what may follow what."""

    def __init__(self, vocabulary: Vocabulary, phrases: Sequence[Phrase]) -> None:
        self._vocabulary = vocabulary
        self._texts = {node: said[0].text for node, said in vocabulary.ends.items()}
        self._chances = {
            node: max(one.chance for one in said) for node, said in vocabulary.ends.items()
        }
        self._challenges, self._answers = _exchanges(vocabulary, phrases)
        self._acts = {
            node: {_act_of(phrases[one.phrase]) for one in said}
            for node, said in vocabulary.ends.items()
        }
        self._read_back = {_act_of(one) for one in phrases if one.act == "callout" and one.others}
        self.ways_to_receipts = self._ways_to(
            end for end, acts in self._acts.items() if any(act in _RECEIPTS for act, *_ in acts)
        )
        """The nodes on the way to what is said to a challenge and answers none: "copied"."""
        self.figures = _figures(vocabulary)
        """For each ending what the free text would be: its words, a number in figures."""

    def weigh(self, endings: tuple[Ending, ...], heard: Listening) -> Reading:
        """A reading weighed."""
        said = sum(ending.said for ending in endings)
        score = said + endings[-1].stop
        chance = sum(self._chances[ending.node] for ending in endings)
        marks = Marks(
            phrase=score,
            pace=pace_evidence(self._words(endings), heard.voiced, heard.starts),
            alike=self._alike(endings, heard),
            chance=chance,
        )
        marks = self._in_a_row(marks, endings)
        begun = evidence_of(Marks(phrase=said, pace=0.0, alike=0.0, chance=chance))
        return Reading(endings, marks, begun, evidence_of(marks))

    def _in_a_row(self, marks: Marks, endings: tuple[Ending, ...]) -> Marks:
        """The marks with what there is of phrases in a row."""
        carry = [self._vocabulary.ends[ending.node][0].value is not None for ending in endings]
        return marks._replace(
            further=len(endings) - 1,
            numbers=sum(one and other for one, other in pairwise(carry)),
            answered=sum(self._goes_on(one, other) for one, other in pairwise(endings)),
        )

    def _goes_on(self, one: Ending, other: Ending) -> bool:
        """Whether a phrase is what the one before it calls for: an answer, or a correction."""
        if self._is_answered(one, other):
            return True
        before, after = (self._vocabulary.ends[ending.node][0].value for ending in (one, other))
        takes_back = before is not None and self._is_correction(other)
        return takes_back or (self._is_correction(one) and after is not None)

    def _is_correction(self, ending: Ending) -> bool:
        return any(act == "correction" for act, *_ in self._acts[ending.node])

    def _is_answered(self, one: Ending, other: Ending) -> bool:
        return any(other.node in self._answers[item] for item in self._challenges[one.node])

    def _alike(self, endings: tuple[Ending, ...], heard: Listening) -> float:
        """Likeness of the free text to the phrases, numbers in figures or in words; 0 to 1."""
        figures = " ".join(self.figures[ending.node] for ending in endings)
        words = self._words(endings)
        return max(fuzz.ratio(heard.words, figures), fuzz.ratio(heard.words, words)) / 100

    def _words(self, endings: tuple[Ending, ...]) -> str:
        return " ".join(self._texts[ending.node] for ending in endings)

    def price_of_both(self, left: Reading, right: Reading) -> float:
        """What the one after the other is less likely than each alone, in nats."""
        nothing = Marks(phrase=0.0, pace=0.0, alike=0.0)
        between = (left.endings[-1], right.endings[0])
        return evidence_of(self._in_a_row(nothing, between)) - evidence_of(nothing)

    def said(self, reading: Reading) -> tuple[Sayable, ...]:
        """A phrase, of those with the same words any one, for each part of a reading."""
        return tuple(self._vocabulary.ends[ending.node][0] for ending in reading.endings)

    def texts(self, reading: Reading) -> list[str]:
        """The words of each phrase."""
        return [self._texts[ending.node] for ending in reading.endings]

    def asks(self, reading: Reading) -> set[str]:
        """The items that its last phrase asks."""
        return self._challenges[reading.endings[-1].node]

    def is_answered_in(self, asked: Reading, reading: Reading) -> bool:
        """Whether another reading is this one with an answer to its last challenge."""
        *before, last = reading.endings
        same = [one.node for one in before] == [one.node for one in asked.endings]
        return same and self._is_answered(before[-1], last)

    def all_asked(self, reading: Reading) -> set[str]:
        """The items that any of its phrases asks."""
        return {item for one in reading.endings for item in self._challenges[one.node]}

    def ways_to_answers(self, items: Iterable[str]) -> set[int]:
        """The nodes on the way to what answers these items, numbers aside."""
        ends = {end for item in items for end in self._answers[item]}
        return self._ways_to(end for end in ends if self._vocabulary.ends[end][0].value is None)

    def _ways_to(self, ends: Iterable[int]) -> set[int]:
        return {node for end in ends for node in self._vocabulary.path(end)}

    def may_follow(self, head: Reading, ending: Ending, heard: Listening) -> bool:
        """Whether a phrase may follow others: not one that says the same again, or its number anew.

        Whisper finds what it has just written likely to come again. What is corrected is said
        again, and what is read back, but the latter only where there is voice enough for it.
        """
        acts, last = self._acts[ending.node], self._acts[head.endings[-1].node]
        said, text = self._words(head.endings), self._texts[ending.node]
        is_answer = self._is_answered(head.endings[-1], ending)
        again = sum(bool(acts & self._acts[one.node]) for one in head.endings)
        is_new = not _shares(said, text) if is_answer else not _says_again(said, text)
        if not again and is_new:
            return True
        left = heard.voiced - seconds_to_say(said, heard.starts)
        has_voice = left > seconds_to_say(text, starts=0 if is_answer else 1)
        is_read_back = again == 1 and bool(acts & last & self._read_back)
        is_corrected = self._is_correction(head.endings[-1])
        return is_corrected or (has_voice and (is_read_back or (is_answer and not again)))

    def begun(self, words: str, reading: Reading) -> tuple[float, str]:
        """How much the free text begins like a reading, 0 to 100, and what follows that in it."""
        figures = " ".join(self.figures[ending.node] for ending in reading.endings)
        return max(parted_after(words, figures), parted_after(words, self._words(reading.endings)))

    def leaves_voice(self, reading: Reading, voiced: float, starts: int = 1) -> bool:
        """Whether there is voice, of so many seconds in all, for a further phrase."""
        is_called_for = self.asks(reading) or self._is_correction(reading.endings[-1])
        least = SHORTEST_ANSWER if is_called_for else SHORTEST_PHRASE
        return voiced - seconds_to_say(self._words(reading.endings), starts) > least


def _act_of(phrase: Phrase) -> tuple[Act, str, str]:
    """What a phrase is for, in whatever words."""
    return phrase.act, phrase.step, phrase.phase


def _says_again(said: str, text: str) -> bool:
    """Whether words were just said: all of them somewhere, or the first half of them at the end."""
    words, before = text.split(), said.split()
    overlaps = (n for n in range(1, len(words) + 1) if before[-n:] == words[:n])
    return f" {text} " in f" {said} " or 2 * max(overlaps, default=0) >= len(words)


def _shares(said: str, text: str) -> bool:
    """Whether a word of a text was just said, as in "mask hose connected, not connected"."""
    return not set(text.split()).isdisjoint(said.split())


def _exchanges(
    vocabulary: Vocabulary, phrases: Sequence[Phrase]
) -> tuple[dict[int, set[str]], dict[str, set[int]]]:
    """The items that each ending asks, and the endings that answer each item."""
    asks: dict[int, set[str]] = {}
    answers: defaultdict[str, set[int]] = defaultdict(set)
    for node, said in vocabulary.ends.items():
        of_node = [phrases[one.phrase] for one in said]
        asks[node] = {one.step for one in of_node if one.act == "challenge"}
        for one in of_node:
            if one.act in ANSWERING:
                answers[one.step].add(node)
    words = answers.pop("", set())
    return asks, {item: answers[item] | words for item in set().union(*asks.values())}


def _figures(vocabulary: Vocabulary) -> dict[int, str]:
    """What the free text would be for each ending: its words, a number in figures."""
    written = {
        (one.phrase, one.value): one.written
        for said in vocabulary.ends.values()
        for one in said
        if one.written
    }
    return {
        node: normalise(written.get((said[0].phrase, said[0].value), said[0].text))
        for node, said in vocabulary.ends.items()
    }
