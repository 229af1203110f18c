"""Judge a step of the sheet: what its exchange says about an item or a cue."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from voxlog.follow.event import FLAGS, Event, Flag, Status
from voxlog.follow.evidence import ActEvidence, Answer
from voxlog.follow.exchange import Exchange
from voxlog.follow.probability import best_of_each, posterior, squash
from voxlog.sheet.model import Cue, Item

__all__ = ["CameBack", "Standing", "judge_cue", "judge_item", "skipped_step"]

SURE_ANSWER = 0.70
SURE_VALUE = 0.60
"""Probability under which an answer or a value is flagged uncertain."""
SHORTEST_WORD = 0.22
"""Seconds a word of an unbroken count takes at least."""
COUNT_PAUSE = 1.0
"""Seconds between two words of a count at most; slower counts are read in pieces, and a piece
without the go word is like one with it."""
EXPECTED_ASK = 2.0
"""Nats that the course adds to a challenge that fits into it."""
ASKED_FOR = 5.0
UNASKED_FOR = -2.5
"""Nats that the course adds to an answer, against its being talk: asked for, and not. Less than
the alignment adds, so that what it had to guess is flagged. Its p is by its sound then: of rows
whose challenge was not heard more are right than that (`python -m tests.bench fit-certainty`)."""

STILL_RIGHT = 0.3
"""Probability that an answer stands although it was taken back: the word was misheard, or the same
was said again. By judgement."""

CameBack = Literal["nothing", "receipt", "talk"]
_CAME_BACK: dict[CameBack, tuple[float, str]] = {
    "nothing": (0.9, ""),
    "receipt": (0.9, "only a receipt"),
    "talk": (0.3, "what came back was not understood"),
}
"""Probability that an item that was asked was not answered, and what to say about it."""
_STATUS_OF: dict[str, Status] = {"confirm": "confirmed", "value": "confirmed", "deny": "negative"}


@dataclass(frozen=True, slots=True)
class Standing:
    """What an item's row needs beside its exchange.

    phase: of the item. within: seconds for the answer. repeated: the item was worked through
    before. misplaced: out of order. came_back: what followed, if it was not answered. taken_back:
    "correction" followed the answer, and no other answer that.
    """

    phase: str
    within: float
    repeated: bool = False
    misplaced: bool = False
    came_back: CameBack = "nothing"
    taken_back: bool = False


@dataclass(frozen=True, slots=True)
class _Verdict:
    """What an answer comes to: status, value, probability, and what to say about it."""

    status: Status
    value: float | None
    p: float
    flags: tuple[Flag, ...] = ()
    note: str = ""


def judge_item(
    item: Item, exchange: Exchange, evidence: Sequence[ActEvidence], standing: Standing
) -> Event:
    """The row of an item that was asked, answered, or both."""
    asks = [evidence[index] for index in exchange.asks]
    answers = [evidence[index] for index in exchange.answers]
    ways = [answer.ways(exchange.step) for answer in answers]
    expected = ASKED_FOR if asks else UNASKED_FOR
    verdict = _answered(item, ways, expected) if ways else _unanswered(standing)
    if ways and standing.taken_back:
        verdict = _taken_back(verdict)
    flags = {*verdict.flags}
    if standing.misplaced:
        flags.add("out-of-order")
    if standing.repeated or len(asks) > 1:
        flags.add("repeated")
    if asks and answers and _delay(asks, answers) > standing.within:
        flags.add("late")
    notes = ["" if asks else "challenge not heard", verdict.note]
    said = sorted((*exchange.asks, *exchange.answers))
    heard = [one.asked.get(exchange.step, "") for one in asks] + [way[0].text for way in ways]
    return Event(
        start=evidence[said[0]].utterance.start,
        end=evidence[said[-1]].utterance.end,
        kind="item",
        phase=standing.phase,
        item=item.key,
        position=item.by,
        status=verdict.status,
        flags=tuple(flag for flag in FLAGS if flag in flags),
        heard=" / ".join(heard),
        value=verdict.value,
        unit=item.value.unit if item.value and verdict.value is not None else "",
        p=_p_asked(asks, exchange.step) * verdict.p,
        note="; ".join(note for note in notes if note),
    )


def _unanswered(standing: Standing) -> _Verdict:
    p, note = _CAME_BACK[standing.came_back]
    flags: tuple[Flag, ...] = ("uncertain",) if p < SURE_ANSWER else ()
    return _Verdict("unconfirmed", None, p, flags, note)


def _taken_back(verdict: _Verdict) -> _Verdict:
    note = "; ".join(filter(None, [verdict.note, "corrected to something that was not understood"]))
    flags = tuple({*verdict.flags, "uncertain"})
    return replace(verdict, p=verdict.p * STILL_RIGHT, flags=flags, note=note)


def _answered(item: Item, ways: Sequence[Sequence[Answer]], expected: float) -> _Verdict:
    """The last answer counts; an earlier value that it replaces is noted."""
    last = ways[-1]
    best = last[0]
    flags, notes = set[Flag](), []
    if squash(best.evidence + expected) < SURE_ANSWER:
        flags.add("uncertain")
        notes.append("may be no answer")
    p_answer = squash(best.evidence + max(expected, 0.0))
    denies = posterior(best_of_each((_denies(way), way.evidence) for way in last))
    p_sense = denies[_denies(best)]
    by_sound = posterior(best_of_each((_denies(way), way.by_sound) for way in last))
    if min(p_sense, by_sound[_denies(best)]) < SURE_ANSWER:
        flags.add("uncertain")
        notes.append(f"may be “{next(w.text for w in last if _denies(w) != _denies(best))}”")
    p = p_answer * p_sense
    if best.value is not None:
        values = _values((way.value, way.evidence) for way in last)
        p *= values[best.value]
        if _values((way.value, way.by_sound) for way in last)[best.value] < SURE_VALUE:
            flags.add("uncertain")
            notes.append(f"may be {_others(values, best.value)}")
        if item.value is not None and not item.value.is_within_limits(best.value):
            flags.add("off-limit")
        replaced = [way[0].value for way in ways[:-1] if way[0].value not in (None, best.value)]
        notes += [f"corrected from {value:g}" for value in replaced[-1:]]
    return _Verdict(_STATUS_OF[best.act], best.value, p, tuple(flags), "; ".join(notes))


def _values(found: Iterable[tuple[float | None, float]]) -> dict[float, float]:
    """The probability of each value, of those found with so much evidence in nats."""
    return posterior(best_of_each((value, nats) for value, nats in found if value is not None))


def _denies(way: Answer) -> bool:
    return way.act == "deny"


def _others(values: dict[float, float], best: float) -> str:
    likely = sorted((value for value in values if value != best), key=lambda v: -values[v])
    return " or ".join(f"{value:g}" for value in likely[:2])


def _delay(asks: Sequence[ActEvidence], answers: Sequence[ActEvidence]) -> float:
    """Seconds from the end of the last challenge before an answer to the first answer after it."""
    answer = answers[0].utterance.start
    return answer - max((a.utterance.end for a in asks if a.utterance.start <= answer), default=0)


def _p_asked(asks: Sequence[ActEvidence], step: int) -> float:
    return max((squash(float(one.ask[step]) + EXPECTED_ASK) for one in asks), default=0.9)


def judge_cue(cue: Cue, exchange: Exchange, evidence: Sequence[ActEvidence], phase: str) -> Event:
    """The row of a cue: its moment is the start of the go word."""
    if not exchange.answers:
        heard = evidence[exchange.asks[-1]]
        return Event(
            start=heard.utterance.end,
            end=heard.utterance.end,
            kind="cue",
            phase=phase,
            item=cue.id,
            position=cue.by,
            status="unconfirmed",
            heard=heard.asked.get(exchange.step, ""),
            p=0.7,
            note="announced; the go word was not heard",
        )
    given = _last_of_count(exchange, evidence)
    best = given.ways(exchange.step)[0]
    start, end = _go_word(given, best.text, cue)
    return Event(
        start=start,
        end=end,
        kind="cue",
        phase=phase,
        item=cue.id,
        position=cue.by,
        heard=best.text,
        p=squash(best.evidence + EXPECTED_ASK),
    )


def _last_of_count(exchange: Exchange, evidence: Sequence[ActEvidence]) -> ActEvidence:
    """What the go word was given in: where the count goes on at once, it was not given yet."""
    place = exchange.answers[-1]
    for later in range(place + 1, len(evidence)):
        gap = evidence[later].utterance.start - evidence[place].utterance.end
        ways = evidence[later].ways(exchange.step)
        if gap > COUNT_PAUSE or not ways or ways[0].evidence <= 0:
            break
        place = later
    return evidence[place]


def _go_word(given: ActEvidence, text: str, cue: Cue) -> tuple[float, float]:
    """Where the go word lies: the last burst of voice, or its share of an unbroken one.

    A burst too short for all the words is the go word alone: the count before it was cut off.
    """
    start, end = given.utterance.bursts[-1]
    words = len(text.split())
    if len(given.utterance.bursts) > 1 or end - start < words * SHORTEST_WORD:
        return start, end
    go = next(word for word in cue.go if text.endswith(word))
    return end - (end - start) * len(go.split()) / words, end


def skipped_step(step: Item | Cue, phase: str, moment: float, p: float, note: str = "") -> Event:
    """The row of a step of which nothing was heard although later ones were."""
    return Event(
        start=moment,
        end=moment,
        kind="item" if isinstance(step, Item) else "cue",
        phase=phase,
        item=step.key,
        position=step.by,
        status="skipped",
        p=p,
        note=note,
    )
