"""Segments to utterances: what of the sheet was said, and what was said in free words.

A segment is encoded once. Its free transcription is searched without any prompt; the sheet's
phrases are scored against the audio; both then compete for the same stretch of sound.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz, process

from voxlog.audio.segment import JoinRules, Segment
from voxlog.numbers.normalise import normalise
from voxlog.sheet.phrases import Phrase
from voxlog.speech.called_for import CalledFor, may_hold_answer, with_more
from voxlog.speech.cut import bursts_within, sides, spans, spans_among_others, voiced_s
from voxlog.speech.free_text import free_text
from voxlog.speech.model import SpeechModel
from voxlog.speech.priors import noise_memories, prior_of
from voxlog.speech.reading import Listening, Reading, Readings
from voxlog.speech.rejoin import Listened
from voxlog.speech.search import Beam, Ending, Search
from voxlog.speech.utterance import Heard, Sayable, Utterance
from voxlog.speech.vocabulary import build_vocabulary, sayables

__all__ = ["Recogniser"]

Floats = NDArray[np.float32]

SAMPLES_PER_SECOND = 16_000
NARROW = Beam(width=20, nats=9.0)
WIDE = Beam(width=100, nats=12.0)
KEPT_ONLY = Beam(width=1, nats=0.0)
"""Little beside the phrases that are to be kept."""
UNCLEAR = 1.5
"""Evidence of the best reading under which the segment is searched again with the wide beam. A
width of 40 chose as well, but the follower misses the alternatives: items right at 5 dB went from
0.88 to 0.85 (fit scenarios). What lost nothing there and what did: DEVELOPERS.md."""
HOPELESS, HOPELESS_S = -9.0, 2.5
"""Evidence of the best reading under which no longer search finds anything that counts, in so few
seconds of voice: of 65 such segments (fit scenarios, 10, 5 and 0 dB) the best came to -6.8, and a
step needs -4.5. A longer one may be a challenge, its answer and somebody else's talk."""
SHORTLIST = 3
SHORTLIST_SIMILARITY = 55.0
PHRASES_IN_A_BREATH = 4
"""As in "recovered saturation nine seven, correction, nine eight"."""
LONGER_FROM = 3
BEGINS_LIKE = 80.0
"""Likeness, of 100, from which the free text counts as beginning with a phrase."""
BEHIND = 3.0
"""Nats by which a challenge with its answer may be less likely than the challenge alone for the
answer still to be surmised, and a challenge before a pause than with what follows it."""
SURMISED = 1.5
"""Nats against such an answer, beside that."""
OTHERS_S = 0.9
"""Seconds of voice beside the words from which somebody else talks: at 0.45 the breathing of a loud
intercom was cut off as well, where the voice model's edges are as good."""
PLACED = -4.5
"""Evidence up to which speech is no step of a sheet, wherever in it that would be."""
KEPT = 24
"""Readings that an utterance keeps."""


class _Piece(NamedTuple):
    """A part of a segment, encoded, its free text, how it may be read, and how it is read best."""

    segment: Segment
    encoded: Floats
    text: str
    readings: list[Reading]

    @property
    def best(self) -> Reading:
        return _best(self.readings)


class Recogniser:
    """Listens for one sheet's phrases with one model."""

    def __init__(self, model: SpeechModel, phrases: Sequence[Phrase], cache: Path) -> None:
        self._model = model
        self._vocabulary = build_vocabulary(
            sayables(phrases), model.tokens, model.prompt, model.end_of_text
        )
        self._prior = prior_of(self._vocabulary, model, noise_memories(model), cache)
        self._weighing = Readings(self._vocabulary, phrases)
        self._called_for = CalledFor(phrases)

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
        for whole in self._heard(segment, audio):
            yield (*self._phrases(whole), *self._surmised(whole))
        if pieces := self._pieces(whole, audio):
            parted = [one for piece in pieces for one in self._phrases(piece)]
            yield (*parted, *self._surmised(pieces[-1]))

    def with_answers(self, one: Listened, before: Sequence[Listened]) -> Listened:
        """A segment that may hold the answer to a challenge before it, heard for that as well.

        before: what was heard last, of all channels.
        """
        heard = (utterance for listened in before for utterance in listened.utterances)
        items = self._called_for.items(heard, one.segment.bursts[0][0] / SAMPLES_PER_SECOND)
        if not items or not may_hold_answer(one.utterances):
            return one
        (utterance,) = one.utterances
        answers = self._heard_of(self._answers(one, utterance.text, items))
        more = with_more(utterance.heard, answers)
        return one._replace(utterances=(replace(utterance, heard=more),))

    def _answers(self, one: Listened, text: str, items: Iterable[str]) -> list[Reading]:
        """How a segment of this free text may be read as an answer or a receipt, numbers aside."""
        search, following = self._search_in(self._model.encode(one.audio))
        heard = Listening(normalise(text), voiced_s(one.segment.bursts), _starts(one.segment))
        keep = self._weighing.ways_to_answers(items) | self._weighing.ways_to_receipts
        return self._found(search, following, heard, KEPT_ONLY, keep)

    def _phrases(self, piece: _Piece) -> Iterator[Utterance]:
        best = piece.best
        for part, place in enumerate(self._places(piece, best)):
            yield self._utterance(piece, best, part, place)

    def _surmised(self, piece: _Piece) -> Iterator[Utterance]:
        """The answer that a last challenge may have in its own breath, though less likely."""
        best = piece.best
        answered = [one for one in piece.readings if self._weighing.is_answered_in(best, one)]
        if best.evidence <= 0 or not answered:
            return
        likeliest = _best(answered)
        if best.evidence - likeliest.evidence > BEHIND:
            return
        place = self._places(piece, likeliest)[-1]
        last = self._utterance(piece, likeliest, len(best.endings), place)
        against = best.evidence + SURMISED
        heard = tuple(Heard(one.sayable, one.evidence - against) for one in last.heard)
        yield replace(last, heard=heard, surmised=True)

    def _pieces(self, whole: _Piece, audio: Floats) -> tuple[_Piece, ...]:
        """The two sides of a segment's widest pause by themselves, if that accounts for more.

        An answer can come so quickly that it is in one segment with its challenge, or the next
        challenge with it. A side that is a phrase and more is parted again.
        """
        segment, best = whole.segment, whole.best
        leaves_voice = self._weighing.leaves_voice(
            best, voiced_s(segment.bursts), len(best.endings)
        )
        if len(segment.bursts) < 2 or not leaves_voice:
            return ()
        found = []
        for side in sides(segment):
            part = audio[side.start - segment.start : side.end - segment.start]
            *_, piece = self._heard(side, part)
            is_clear = piece.best.evidence > 0
            found.append((self._pieces(piece, part) if is_clear else ()) or (piece,))
        left, right = found
        if not self._is_better(left[-1].best, right[0].best, best):
            return ()
        return (*left, *right)

    def _is_better(self, left: Reading, right: Reading, whole: Reading) -> bool:
        """Whether two sides account for more than the whole.

        A challenge that one side is by itself as clearly as the whole is over before the pause:
        what follows it is something else, though it may be nothing that the sheet lists. Where the
        whole has an answer, that is what it is.
        """
        if left.evidence <= 0:
            return False
        asked = self._weighing.asks(left) & self._weighing.all_asked(whole)
        is_over = bool(asked) and not whole.marks.answered
        if is_over and left.evidence > whole.evidence - BEHIND:
            return True
        price = self._weighing.price_of_both(left, right)
        return right.evidence > 0 and left.evidence + right.evidence + price > whole.evidence

    def read(self, segment: Segment, audio: Floats) -> tuple[str, list[Reading]]:
        """The free text of a segment, and every way in which it was tried to be read."""
        *_, found = self._heard(segment, audio)
        return found.text, found.readings

    def _heard(self, segment: Segment, audio: Floats) -> Iterator[_Piece]:
        """A segment with all its readings; before it, for unclear speech, with those found soon."""
        encoded = self._model.encode(audio)
        search, following = self._search_in(encoded)
        voiced = voiced_s(segment.bursts)
        text = free_text(self._model, encoded, voiced)
        heard = Listening(normalise(text), voiced, _starts(segment))
        readings = self._singles(search, following, heard, NARROW)
        evidence = _best(readings).evidence
        if evidence < UNCLEAR and (evidence > HOPELESS or voiced > HOPELESS_S):
            yield _Piece(segment, encoded, text, readings)
            readings = readings + self._singles(search, following, heard, WIDE)
        best = _best(readings)
        if self._weighing.leaves_voice(best, voiced, heard.starts):
            readings = readings + self._longer(search, readings, heard, PHRASES_IN_A_BREATH - 1)
        yield _Piece(segment, encoded, text, readings)

    def _singles(
        self, search: Search, following: Floats, heard: Listening, beam: Beam
    ) -> list[Reading]:
        """Readings of one phrase."""
        return self._found(search, following, heard, beam, self._resembling(heard.words))

    def _search_in(self, encoded: Floats) -> tuple[Search, Floats]:
        """A search in encoded audio, and what may follow the prompt there."""
        decoding = self._model.decoding(self._model.listen(encoded))
        following = decoding.start(self._vocabulary.prompt, self._vocabulary.among)
        return Search(decoding, self._vocabulary, self._prior), following

    def _found(
        self, search: Search, following: Floats, heard: Listening, beam: Beam, keep: set[int]
    ) -> list[Reading]:
        """Readings of one phrase by a search from the prompt on."""
        endings = search.after(len(self._vocabulary.prompt) - 1, following, beam, keep)
        return [self._weighing.weigh((ending,), heard) for ending in endings]

    def said(self, reading: Reading) -> tuple[Sayable, ...]:
        """A phrase, of those with the same words any one, for each part of a reading."""
        return self._weighing.said(reading)

    def _resembling(self, words: str) -> set[int]:
        """The nodes on the way to the phrases that the free text is most like."""
        found = process.extract(
            words,
            self._weighing.figures,
            scorer=fuzz.ratio,
            limit=SHORTLIST,
            score_cutoff=SHORTLIST_SIMILARITY,
        )
        return {node for _, _, end in found for node in self._vocabulary.path(end)}

    def _longer(
        self, search: Search, readings: list[Reading], heard: Listening, more: int
    ) -> list[Reading]:
        """Readings with another phrase after those that leave voice unexplained."""
        heads = self._promising(readings, heard)
        asked = {item for head in heads for item in self._weighing.asks(head)}
        keep = self._weighing.ways_to_answers(asked)
        for head in heads:
            keep |= self._resembling(self._weighing.begun(heard.words, head)[1])
        followed = search.on([head.endings[-1] for head in heads], NARROW, keep)
        found = [
            self._weighing.weigh((*heads[head].endings, ending), heard)
            for head, ending in followed
            if self._weighing.may_follow(heads[head], ending, heard)
        ]
        if found and more > 1:
            found += self._longer(search, found, heard, more - 1)
        return found

    def _promising(self, readings: list[Reading], heard: Listening) -> list[Reading]:
        """The few readings worth going on from, each of other words or another number.

        Whisper likes to begin with the longer phrase; that which its own text begins with is among
        them.
        """
        best: dict[tuple[tuple[int, float | None], ...], Reading] = {}
        for reading in sorted(readings, key=lambda one: -one.begun):
            key = tuple((one.phrase, one.value) for one in self._weighing.said(reading))
            best.setdefault(key, reading)
        heads = list(best.values())[:LONGER_FROM]
        likeness, written = max(
            ((self._weighing.begun(heard.words, one)[0], one) for one in best.values()),
            key=lambda pair: pair[0],
        )
        if likeness >= BEGINS_LIKE and written not in heads:
            heads.append(written)
        return [
            one for one in heads if self._weighing.leaves_voice(one, heard.voiced, heard.starts)
        ]

    def _places(self, piece: _Piece, reading: Reading) -> list[tuple[float, float]]:
        """Where in a piece the phrases of a reading lie, in samples.

        They take all of its voice, unless there is more than they need: then somebody else talks,
        and where they are is asked of the model.
        """
        segment, texts = piece.segment, self._weighing.texts(reading)
        leaves_voice = self._weighing.leaves_voice(
            reading, voiced_s(segment.bursts), _starts(segment)
        )
        if reading.evidence <= PLACED or not leaves_voice:
            return spans(segment.bursts, texts)
        seconds = (segment.end - segment.start) / SAMPLES_PER_SECOND
        begins = self._model.begins(piece.encoded, " ".join(texts).split(), seconds)
        return spans_among_others(segment, texts, begins, OTHERS_S)

    def _utterance(
        self, piece: _Piece, best: Reading, part: int, place: tuple[float, float]
    ) -> Utterance:
        """One phrase of a reading, with what else may have stood in its place."""
        others = [
            reading
            for reading in piece.readings
            if len(reading.endings) == len(best.endings)
            and _without(reading.endings, part) == _without(best.endings, part)
        ]
        likeliest = sorted(others, key=lambda reading: -reading.evidence)[:KEPT]
        segment = piece.segment
        start, end = (sample / SAMPLES_PER_SECOND for sample in place)
        return Utterance(
            channel=segment.channel,
            start=start,
            end=end,
            bursts=bursts_within(segment, start, end),
            text=piece.text,
            heard=with_more(self._heard_of(likeliest, part)),
        )

    def _heard_of(self, readings: Iterable[Reading], part: int = 0) -> Iterator[Heard]:
        """What is heard in one part of each reading; phrases of the same words are as clear."""
        for reading in readings:
            for sayable in self._vocabulary.ends[reading.endings[part].node]:
                yield Heard(sayable, reading.evidence)


def _best(readings: Sequence[Reading]) -> Reading:
    return max(readings, key=lambda reading: reading.evidence)


def _starts(segment: Segment) -> int:
    gap = JoinRules().gap
    return 1 + sum(later[0] - earlier[1] >= gap for earlier, later in pairwise(segment.bursts))


def _without(endings: tuple[Ending, ...], part: int) -> list[int]:
    return [ending.node for n, ending in enumerate(endings) if n != part]
