"""Segments to utterances: what of the sheet was said, and what was said in free words.

A segment is encoded once. Its free transcription is searched without any prompt; the sheet's
phrases are scored against the audio; both then compete for the same stretch of sound.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz, process

from voxlog.audio.segment import JoinRules, Segment
from voxlog.numbers.normalise import normalise
from voxlog.sheet.phrases import Act, Phrase
from voxlog.speech.cut import bursts_within, sides, spans
from voxlog.speech.evidence import Marks, evidence_of
from voxlog.speech.free_text import free_text, parted_after
from voxlog.speech.model import SpeechModel
from voxlog.speech.pace import pace_evidence, seconds_to_say
from voxlog.speech.priors import noise_memories, prior_of
from voxlog.speech.search import Beam, Ending, Search
from voxlog.speech.utterance import Heard, Sayable, Utterance
from voxlog.speech.vocabulary import Vocabulary, build_vocabulary, sayables

__all__ = ["Reading", "Recogniser"]

Floats = NDArray[np.float32]

SAMPLES_PER_SECOND = 16_000
NARROW = Beam(width=20, nats=9.0)
WIDE = Beam(width=100, nats=12.0)
UNCLEAR = 1.5
"""Evidence of the best reading under which the segment is searched again with the wide beam. A
width of 40 chose as well, but the follower misses the alternatives: items right at 5 dB went from
0.88 to 0.85 (fit scenarios). What lost nothing there and what did: DEVELOPERS.md."""
SHORTLIST = 3
SHORTLIST_SIMILARITY = 55.0
PHRASES_IN_A_BREATH = 4
"""As in "recovered saturation nine seven, correction, nine eight"."""
LONGER_FROM = 3
BEGINS_LIKE = 80.0
"""Likeness, of 100, from which the free text counts as beginning with a phrase."""
SHORTEST_PHRASE = 0.45
"""Seconds of voice that a further phrase needs. Where the best reading of one phrase leaves less,
none is looked for: of 433 segments (fit scenarios, 10 and 5 dB) 15 held two phrases, and each left
0.6 s or more; the search for more than one took two fifths of the time."""
_ANSWERS: frozenset[Act] = frozenset({"confirm", "deny", "value", "affirm", "negative"})
KEPT = 24
"""Readings that an utterance keeps."""


@dataclass(frozen=True, slots=True)
class _Listening:
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


class Recogniser:
    """Listens for one sheet's phrases with one model."""

    def __init__(self, model: SpeechModel, phrases: Sequence[Phrase], cache: Path) -> None:
        self._model = model
        self._vocabulary = build_vocabulary(
            sayables(phrases), model.tokens, model.prompt, model.end_of_text
        )
        self._prior = prior_of(self._vocabulary, model, noise_memories(model), cache)
        self._texts = {node: said[0].text for node, said in self._vocabulary.ends.items()}
        self._chances = {
            node: max(one.chance for one in said) for node, said in self._vocabulary.ends.items()
        }
        self._figures = _figures(self._vocabulary)
        self._challenges, self._answers = _exchanges(self._vocabulary, phrases)
        self._acts = {
            node: {_act_of(phrases[one.phrase]) for one in said}
            for node, said in self._vocabulary.ends.items()
        }
        self._read_back = {_act_of(one) for one in phrases if one.act == "callout" and one.others}

    def utterances(self, segment: Segment, audio: Floats) -> tuple[Utterance, ...]:
        """What was said in a segment; one utterance for each phrase of it, or one in all.

        audio: the segment's 16 kHz samples, with whatever padding the segmenter left around it.
        """
        *_, found = self.attempts(segment, audio)
        return found

    def attempts(self, segment: Segment, audio: Floats) -> Iterator[tuple[Utterance, ...]]:
        """The same as soon as there is anything to say, and again after each longer search.

        The last attempt is what `utterances` gives.
        """
        for text, readings in self._readings(segment, audio):
            best = max(readings, key=lambda reading: reading.evidence)
            yield tuple(
                self._utterance(segment, text, readings, best, part)
                for part in range(len(best.endings))
            )
        if parted := self._parted(segment, audio, best):
            yield parted

    def _parted(self, segment: Segment, audio: Floats, whole: Reading) -> tuple[Utterance, ...]:
        """The two sides of a segment's widest pause by themselves, if that accounts for more.

        An answer can come so quickly that it is in one segment with its challenge.
        """
        voiced = sum(end - start for start, end in segment.bursts) / SAMPLES_PER_SECOND
        said = seconds_to_say(self._words(whole.endings))
        if len(whole.endings) > 1 or voiced - said < SHORTEST_PHRASE or len(segment.bursts) < 2:
            return ()
        found = []
        for side in sides(segment):
            part = audio[side.start - segment.start : side.end - segment.start]
            text, readings = self.read(side, part)
            found.append((side, text, readings, max(readings, key=lambda one: one.evidence)))
        (*_, left), (*_, right) = found
        together = left.evidence + right.evidence + self._price_of_both(left, right)
        if min(left.evidence, right.evidence) <= 0 or together <= whole.evidence:
            return ()
        return tuple(
            self._utterance(side, text, readings, best, part)
            for side, text, readings, best in found
            for part in range(len(best.endings))
        )

    def _price_of_both(self, left: Reading, right: Reading) -> float:
        """What the one after the other is less likely than each alone, in nats."""
        nothing = Marks(phrase=0.0, pace=0.0, alike=0.0)
        between = (left.endings[-1], right.endings[0])
        return evidence_of(self._in_a_row(nothing, between)) - evidence_of(nothing)

    def read(self, segment: Segment, audio: Floats) -> tuple[str, list[Reading]]:
        """The free text of a segment, and every way in which it was tried to be read."""
        *_, found = self._readings(segment, audio)
        return found

    def _readings(self, segment: Segment, audio: Floats) -> Iterator[tuple[str, list[Reading]]]:
        """What `read` gives; before it, for unclear speech, what a quick search finds."""
        encoded = self._model.encode(audio)
        memory = self._model.listen(encoded)
        decoding = self._model.decoding(memory)
        following = decoding.start(self._vocabulary.prompt, self._vocabulary.among)
        voiced = sum(end - start for start, end in segment.bursts) / SAMPLES_PER_SECOND
        text = free_text(self._model, encoded, voiced)
        heard = _Listening(normalise(text), voiced, _starts(segment))
        search = Search(decoding, self._vocabulary, self._prior)
        readings = self._singles(search, following, heard, NARROW)
        if max(reading.evidence for reading in readings) < UNCLEAR:
            yield text, readings
            readings = readings + self._singles(search, following, heard, WIDE)
        best = max(readings, key=lambda reading: reading.evidence)
        if self._leaves_voice(best, heard):
            readings = readings + self._longer(search, readings, heard, PHRASES_IN_A_BREATH - 1)
        yield text, readings

    def _singles(
        self, search: Search, following: Floats, heard: _Listening, beam: Beam
    ) -> list[Reading]:
        """Readings of one phrase."""
        row = len(self._vocabulary.prompt) - 1
        keep = self._resembling(heard.words)
        endings = search.after(row, following, beam, keep)
        return [self._reading((ending,), heard) for ending in endings]

    def said(self, reading: Reading) -> tuple[Sayable, ...]:
        """A phrase, of those with the same words any one, for each part of a reading."""
        return tuple(self._vocabulary.ends[ending.node][0] for ending in reading.endings)

    def _resembling(self, words: str) -> set[int]:
        """The nodes on the way to the phrases that the free text is most like."""
        found = process.extract(
            words,
            self._figures,
            scorer=fuzz.ratio,
            limit=SHORTLIST,
            score_cutoff=SHORTLIST_SIMILARITY,
        )
        return {node for _, _, end in found for node in self._vocabulary.path(end)}

    def _reading(self, endings: tuple[Ending, ...], heard: _Listening) -> Reading:
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
            answered=sum(self._is_answered(one, other) for one, other in pairwise(endings)),
        )

    def _is_answered(self, one: Ending, other: Ending) -> bool:
        return any(other.node in self._answers[item] for item in self._challenges[one.node])

    def _alike(self, endings: tuple[Ending, ...], heard: _Listening) -> float:
        """Likeness of the free text to the phrases, numbers in figures or in words; 0 to 1."""
        figures = " ".join(self._figures[ending.node] for ending in endings)
        words = self._words(endings)
        return max(fuzz.ratio(heard.words, figures), fuzz.ratio(heard.words, words)) / 100

    def _words(self, endings: tuple[Ending, ...]) -> str:
        return " ".join(self._texts[ending.node] for ending in endings)

    def _longer(
        self, search: Search, readings: list[Reading], heard: _Listening, more: int
    ) -> list[Reading]:
        """Readings with another phrase after those that leave voice unexplained."""
        heads = self._promising(readings, heard)
        keep = self._own_answers(heads)
        for head in heads:
            keep |= self._resembling(self._begun(heard.words, head)[1])
        followed = search.on([head.endings[-1] for head in heads], NARROW, keep)
        found = [
            self._reading((*heads[head].endings, ending), heard)
            for head, ending in followed
            if self._may_follow(heads[head], ending, heard)
        ]
        if found and more > 1:
            found += self._longer(search, found, heard, more - 1)
        return found

    def _own_answers(self, heads: list[Reading]) -> set[int]:
        """The nodes on the way to what answers the readings' last challenges, numbers aside."""
        asked = {item for head in heads for item in self._challenges[head.endings[-1].node]}
        ends = {end for item in asked for end in self._answers[item]}
        plain = [end for end in ends if self._vocabulary.ends[end][0].value is None]
        return {node for end in plain for node in self._vocabulary.path(end)}

    def _may_follow(self, head: Reading, ending: Ending, heard: _Listening) -> bool:
        """Whether a phrase may follow others: not one that says the same again, or its number anew.

        Whisper finds what it has just written likely to come again. What is corrected is said
        again, and what is read back, but the latter only where there is voice enough for it.
        """
        acts, last = self._acts[ending.node], self._acts[head.endings[-1].node]
        said, text = self._words(head.endings), self._texts[ending.node]
        is_answer = self._is_answered(head.endings[-1], ending)
        again = sum(bool(acts & self._acts[one.node]) for one in head.endings)
        if not again and (is_answer or not _says_again(said, text)):
            return True
        left = heard.voiced - seconds_to_say(said, heard.starts)
        is_read_back = again == 1 and bool(acts & last & self._read_back)
        is_corrected = any(act == "correction" for act, *_ in last)
        return is_corrected or (is_read_back and left > seconds_to_say(text))

    def _promising(self, readings: list[Reading], heard: _Listening) -> list[Reading]:
        """The few readings worth going on from, each of other words or another number.

        Whisper likes to begin with the longer phrase; that which its own text begins with is among
        them.
        """
        best: dict[tuple[tuple[int, float | None], ...], Reading] = {}
        for reading in sorted(readings, key=lambda one: -one.begun):
            key = tuple((one.phrase, one.value) for one in self.said(reading))
            best.setdefault(key, reading)
        heads = list(best.values())[:LONGER_FROM]
        likeness, written = max(
            ((self._begun(heard.words, one)[0], one) for one in best.values()),
            key=lambda pair: pair[0],
        )
        if likeness >= BEGINS_LIKE and written not in heads:
            heads.append(written)
        return [one for one in heads if self._leaves_voice(one, heard)]

    def _begun(self, words: str, reading: Reading) -> tuple[float, str]:
        """How much the free text begins like a reading, 0 to 100, and what follows that in it."""
        figures = " ".join(self._figures[ending.node] for ending in reading.endings)
        return max(parted_after(words, figures), parted_after(words, self._words(reading.endings)))

    def _leaves_voice(self, reading: Reading, heard: _Listening) -> bool:
        said = seconds_to_say(self._words(reading.endings), heard.starts)
        return heard.voiced - said > SHORTEST_PHRASE

    def _utterance(
        self, segment: Segment, text: str, readings: list[Reading], best: Reading, part: int
    ) -> Utterance:
        """One phrase of the best reading, with what else may have stood in its place."""
        others = [
            reading
            for reading in readings
            if len(reading.endings) == len(best.endings)
            and _without(reading.endings, part) == _without(best.endings, part)
        ]
        heard: dict[tuple[int, float | None], Heard] = {}
        for reading in sorted(others, key=lambda reading: -reading.evidence)[:KEPT]:
            for sayable in self._vocabulary.ends[reading.endings[part].node]:
                heard.setdefault((sayable.phrase, sayable.value), Heard(sayable, reading.evidence))
        places = spans(segment.bursts, [self._texts[one.node] for one in best.endings])
        start, end = (sample / SAMPLES_PER_SECOND for sample in places[part])
        return Utterance(
            channel=segment.channel,
            start=start,
            end=end,
            bursts=bursts_within(segment, start, end),
            text=text,
            heard=tuple(sorted(heard.values(), key=lambda one: -one.evidence)),
        )


def _act_of(phrase: Phrase) -> tuple[Act, str, str]:
    """What a phrase is for, in whatever words."""
    return phrase.act, phrase.step, phrase.phase


def _says_again(said: str, text: str) -> bool:
    """Whether words were just said: all of them somewhere, or the first half of them at the end."""
    words, before = text.split(), said.split()
    overlaps = (n for n in range(1, len(words) + 1) if before[-n:] == words[:n])
    return f" {text} " in f" {said} " or 2 * max(overlaps, default=0) >= len(words)


def _starts(segment: Segment) -> int:
    gap = JoinRules().gap
    return 1 + sum(later[0] - earlier[1] >= gap for earlier, later in pairwise(segment.bursts))


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
            if one.act in _ANSWERS:
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


def _without(endings: tuple[Ending, ...], part: int) -> list[int]:
    return [ending.node for n, ending in enumerate(endings) if n != part]
