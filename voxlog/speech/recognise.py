"""Segments to utterances: what of the sheet was said, and what was said in free words.

A segment is encoded once. Its free transcription is searched without any prompt; the sheet's
phrases are scored against the audio; both then compete for the same stretch of sound.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz, process

from voxlog.audio.segment import Segment
from voxlog.numbers.normalise import normalise
from voxlog.sheet.phrases import Phrase
from voxlog.speech.decoder import Decoding
from voxlog.speech.evidence import FITTED, evidence_of
from voxlog.speech.free_text import FreeText, free_text
from voxlog.speech.model import SpeechModel
from voxlog.speech.pace import pace_evidence, seconds_to_say
from voxlog.speech.priors import noise_memories, prior_of
from voxlog.speech.search import Ending, search
from voxlog.speech.utterance import Heard, Utterance
from voxlog.speech.vocabulary import build_vocabulary, sayables

__all__ = ["Recogniser"]

Floats = NDArray[np.float32]

SAMPLES_PER_SECOND = 16_000
SHORTLIST = 6
SHORTLIST_SIMILARITY = 55.0
PHRASES_IN_A_BREATH = 3
LONGER_FROM = 3
SHORTEST_PHRASE = 0.45
"""Seconds of voice that a further phrase needs."""
FREE_AHEAD = 3.0
"""Nats by which free text may explain several phrases better before they lose evidence."""
FURTHER_PHRASE = 4.0
"""Nats that each further phrase of one segment costs: most segments hold one."""
PAUSE_REACH = 0.7
KEPT = 24
"""Readings that an utterance keeps."""


@dataclass(frozen=True, slots=True)
class _Listening:
    """What a segment is read against: its free text, and how many seconds of voice are in it."""

    free: FreeText
    words: str
    voiced: float


@dataclass(frozen=True, slots=True)
class _Saying:
    """One way to read a whole segment: phrases in a row.

    begun: how good a beginning it is, whatever follows. evidence: of the reading as it stands. Both
    in nats.
    """

    endings: tuple[Ending, ...]
    begun: float
    evidence: float


class Recogniser:
    """Listens for one sheet's phrases with one model."""

    def __init__(self, model: SpeechModel, phrases: Sequence[Phrase], cache: Path) -> None:
        self._model = model
        self._vocabulary = build_vocabulary(
            sayables(phrases), model.tokens, model.prompt, model.end_of_text
        )
        self._noises = noise_memories(model)
        self._prior = prior_of(self._vocabulary, model, self._noises, cache)
        self._texts = {node: said[0].text for node, said in self._vocabulary.ends.items()}
        self._chances = {
            node: max(one.chance for one in said) for node, said in self._vocabulary.ends.items()
        }
        self._likenesses = {
            node: normalise(said[0].written or said[0].text)
            for node, said in self._vocabulary.ends.items()
        }

    def utterances(self, segment: Segment, audio: Floats) -> tuple[Utterance, ...]:
        """What was said in a segment; one utterance for each phrase of it, or one in all.

        audio: the segment's 16 kHz samples, with whatever padding the segmenter left around it.
        """
        encoded = self._model.encode(audio)
        memory = self._model.listen(encoded)
        decoding = self._model.decoding(memory)
        following = decoding.start(self._vocabulary.prompt, self._vocabulary.among)
        voiced = sum(end - start for start, end in segment.bursts) / SAMPLES_PER_SECOND
        free = free_text(self._model, encoded, memory, self._noises, voiced, self._vocabulary.among)
        heard = _Listening(free, normalise(free.text), voiced)
        row = decoding.rows - 1
        keep = self._resembling(heard.words)
        endings = search(decoding, self._vocabulary, self._prior, row, following, keep)
        sayings = [self._saying((ending,), heard) for ending in endings]
        sayings += self._longer(decoding, sayings, heard, PHRASES_IN_A_BREATH - 1)
        best = max(sayings, key=lambda saying: saying.evidence)
        return tuple(
            self._utterance(segment, free, sayings, best, part) for part in range(len(best.endings))
        )

    def _resembling(self, words: str) -> set[int]:
        """The nodes on the way to the phrases that the free text is most like."""
        found = process.extract(
            words,
            self._likenesses,
            scorer=fuzz.ratio,
            limit=SHORTLIST,
            score_cutoff=SHORTLIST_SIMILARITY,
        )
        return {node for _, _, end in found for node in self._vocabulary.path(end)}

    def _saying(self, endings: tuple[Ending, ...], heard: _Listening) -> _Saying:
        """A reading weighed.

        Several phrases in a row can be made to fit the length of any talk, so they must also
        explain the audio about as well as the free text does.
        """
        said = sum(ending.said for ending in endings)
        score = said + endings[-1].stop
        chance = sum(self._chances[ending.node] for ending in endings)
        pace = pace_evidence(self._words(endings), heard.voiced)
        evidence = evidence_of(score, heard.free.score, pace, self._alike(endings, heard), chance)
        if len(endings) > 1:
            behind = max(0.0, heard.free.score - score - FREE_AHEAD)
            evidence -= FITTED.phrase * behind + FURTHER_PHRASE * (len(endings) - 1)
        return _Saying(endings, evidence_of(said, 0.0, 0.0, 0.0, chance), evidence)

    def _alike(self, endings: tuple[Ending, ...], heard: _Listening) -> float:
        """Likeness of the free text to the phrases, numbers in figures or in words; 0 to 1."""
        written = " ".join(self._likenesses[ending.node] for ending in endings)
        words = self._words(endings)
        return max(fuzz.ratio(heard.words, written), fuzz.ratio(heard.words, words)) / 100

    def _words(self, endings: tuple[Ending, ...]) -> str:
        return " ".join(self._texts[ending.node] for ending in endings)

    def _longer(
        self, decoding: Decoding, sayings: list[_Saying], heard: _Listening, more: int
    ) -> list[_Saying]:
        """Readings with another phrase after those that leave voice unexplained."""
        found: list[_Saying] = []
        for saying in self._promising(sayings, heard.voiced):
            last = saying.endings[-1]
            found += [
                self._saying((*saying.endings, ending), heard)
                for ending in search(
                    decoding, self._vocabulary, self._prior, last.row, last.following
                )
                if ending.node != last.node
            ]
        if found and more > 1:
            found += self._longer(decoding, found, heard, more - 1)
        return found

    def _promising(self, sayings: list[_Saying], voiced: float) -> list[_Saying]:
        """The few readings worth going on from, each of other words or another number."""
        best: dict[tuple[tuple[int, float | None], ...], _Saying] = {}
        for saying in sorted(sayings, key=lambda one: -one.begun):
            said = (self._vocabulary.ends[ending.node][0] for ending in saying.endings)
            best.setdefault(tuple((one.phrase, one.value) for one in said), saying)
        return [one for one in list(best.values())[:LONGER_FROM] if self._leaves_voice(one, voiced)]

    def _leaves_voice(self, saying: _Saying, voiced: float) -> bool:
        return voiced - seconds_to_say(self._words(saying.endings)) > SHORTEST_PHRASE

    def _utterance(
        self, segment: Segment, free: FreeText, sayings: list[_Saying], best: _Saying, part: int
    ) -> Utterance:
        """One phrase of the best reading, with what else may have stood in its place."""
        others = [
            saying
            for saying in sayings
            if len(saying.endings) == len(best.endings)
            and _without(saying.endings, part) == _without(best.endings, part)
        ]
        heard: dict[tuple[int, float | None], Heard] = {}
        for saying in sorted(others, key=lambda saying: -saying.evidence)[:KEPT]:
            for sayable in self._vocabulary.ends[saying.endings[part].node]:
                heard.setdefault((sayable.phrase, sayable.value), Heard(sayable, saying.evidence))
        spans = _spans(segment.bursts, [self._texts[one.node] for one in best.endings])
        start, end = (sample / SAMPLES_PER_SECOND for sample in spans[part])
        return Utterance(
            channel=segment.channel,
            start=start,
            end=end,
            bursts=_bursts_within(segment, start, end),
            text=free.text,
            heard=tuple(sorted(heard.values(), key=lambda one: -one.evidence)),
        )


def _without(endings: tuple[Ending, ...], part: int) -> list[int]:
    return [ending.node for n, ending in enumerate(endings) if n != part]


def _spans(bursts: Sequence[tuple[int, int]], texts: list[str]) -> list[tuple[float, float]]:
    """Where each text lies, in samples: cut in proportion, or at a pause where one is near.

    The pause nearest to a cut parts texts and bursts; each side is then cut by itself, so that no
    pause serves twice and no text is left without voice.
    """
    first, last = bursts[0][0], bursts[-1][1]
    shares = np.cumsum([seconds_to_say(text) for text in texts])
    cuts = [first + float(share) * (last - first) for share in shares[:-1] / shares[-1]]
    distances = [
        (abs(cut - (earlier[1] + later[0]) / 2), text, burst)
        for text, cut in enumerate(cuts, start=1)
        for burst, (earlier, later) in enumerate(pairwise(bursts), start=1)
    ]
    distance, text, burst = min(distances, default=(math.inf, 0, 0))
    if distance > PAUSE_REACH * SAMPLES_PER_SECOND:
        return list(pairwise([first, *cuts, last]))
    return [*_spans(bursts[:burst], texts[:text]), *_spans(bursts[burst:], texts[text:])]


def _bursts_within(segment: Segment, start: float, end: float) -> tuple[tuple[float, float], ...]:
    """The stretches of voice between two moments, cut to them, in seconds."""
    bursts = (
        (max(first / SAMPLES_PER_SECOND, start), min(last / SAMPLES_PER_SECOND, end))
        for first, last in segment.bursts
    )
    return tuple((first, last) for first, last in bursts if first < last)
