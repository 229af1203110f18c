"""Follow a run: from utterances to events.

The order of work reads from top to bottom of ``judge_run``: weigh each utterance, align the whole
to the sheet, group into exchanges, judge each against the sheet, and name what was never heard.
Last of all it is said how sure each row is.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from voxlog.follow.alignment import Emission, Prices, align
from voxlog.follow.answerer import answerers_of, with_answerer
from voxlog.follow.callouts_due import missed_levels
from voxlog.follow.certainty import with_certainty
from voxlog.follow.event import Event
from voxlog.follow.evidence import UNHEARD, ActEvidence, PhraseIndex, weigh
from voxlog.follow.exchange import Aside, Exchange, Resumed, exchanges, says_correction
from voxlog.follow.judge_aside import Spoken, judge_asides
from voxlog.follow.judge_item import CameBack, Standing, judge_cue, judge_item, skipped_step
from voxlog.follow.order import out_of_order
from voxlog.follow.probability import squash
from voxlog.sheet.model import Cue, Item, Sheet
from voxlog.sheet.phrases import Phrase
from voxlog.speech.utterance import Utterance

__all__ = ["follow", "judge_run"]

CORRECTED_SECONDS = 5.0
"""How soon after an answer "correction" takes that back."""
WAITED_SECONDS = 10.0
"""How long after a challenge what is said is taken as what came back."""


def follow(
    utterances: Sequence[Utterance],
    sheet: Sheet,
    phrases: Sequence[Phrase],
    end: float,
    positions: Mapping[int, str] | None = None,
) -> list[Event]:
    """The events of a run, in time order.

    utterances: in time order. phrases: the sheet's, as the recogniser had them. end: length of the
    recording in seconds. positions: who speaks on each channel, where that is known.
    """
    return with_certainty(judge_run(utterances, sheet, phrases, end, positions))


def judge_run(
    utterances: Sequence[Utterance],
    sheet: Sheet,
    phrases: Sequence[Phrase],
    end: float,
    positions: Mapping[int, str] | None = None,
) -> list[Event]:
    """The same with p as each row was judged by itself."""
    index = PhraseIndex(sheet, phrases)
    speakers = positions or {}
    evidence = [weigh(one, index, speakers.get(one.channel, "")) for one in utterances]
    corrects = [False, *map(says_correction, evidence)]
    course = align(
        [
            Emission(one.ask, one.answer, one.side, dict(one.resume), after)
            for one, after in zip(evidence, corrects, strict=False)
        ],
        len(index.steps),
        Prices(),
        [place for place, (_, step) in enumerate(sheet.steps) if isinstance(step, Cue)],
        _groups(sheet),
    )
    return _Run(sheet, evidence, exchanges(course.moves, evidence), end).events()


def _groups(sheet: Sheet) -> list[list[int]]:
    groups: dict[str, list[int]] = {}
    for place, (_, step) in enumerate(sheet.steps):
        if isinstance(step, Item) and step.group:
            groups.setdefault(step.group, []).append(place)
    return list(groups.values())


class _Run:
    """One run's exchanges, being judged against its sheet."""

    def __init__(
        self,
        sheet: Sheet,
        evidence: Sequence[ActEvidence],
        happened: Sequence[Exchange | Aside | Resumed],
        end: float,
    ) -> None:
        self._sheet = sheet
        self._steps = sheet.steps
        self._evidence = evidence
        self._happened = happened
        self._end = end
        self._exchanges = [one for one in happened if isinstance(one, Exchange)]
        self._asides = {one.utterance for one in happened if isinstance(one, Aside)}
        self._misplaced = self._out_of_order()
        self._answerers = answerers_of(sheet, evidence, happened)

    def events(self) -> list[Event]:
        """All rows."""
        steps = list(self._judged())
        cues = [row for row in steps if row.kind == "cue"]
        asides = judge_asides(self._sheet, list(self._spoken()), cues)
        resumes = [self._resumed(one) for one in self._happened if isinstance(one, Resumed)]
        called = [row for row in asides if row.kind == "callout"]
        missed = missed_levels(self._sheet, called, self._phase_starts(), self._end)
        rows = [*steps, *self._skipped(), *asides, *resumes, *missed]
        return sorted(rows, key=lambda row: (row.start, row.end))

    def _judged(self) -> Iterator[Event]:
        done: set[int] = set()
        for number, exchange in enumerate(self._exchanges):
            phase, step = self._steps[exchange.step]
            if isinstance(step, Cue):
                yield judge_cue(step, exchange, self._evidence, phase.id)
            else:
                standing = Standing(
                    phase=phase.id,
                    within=self._sheet.seconds_to_answer(step),
                    repeated=exchange.step in done,
                    misplaced=number in self._misplaced,
                    came_back=self._came_back(exchange),
                    taken_back=self._is_taken_back(exchange),
                )
                row = judge_item(step, exchange, self._evidence, standing)
                by = self._answerers.get(exchange)
                yield with_answerer(row, step, self._sheet.asks, by, exchange) if by else row
            done.add(exchange.step)

    def _out_of_order(self) -> set[int]:
        """Numbers of the exchanges out of order within their stretch; cues have no rank."""
        ranks = _ranks(self._sheet)
        stretches: dict[int, list[int]] = {}
        for number, exchange in enumerate(self._exchanges):
            if exchange.step in ranks:
                stretches.setdefault(exchange.stretch, []).append(number)
        return {
            numbers[place]
            for numbers in stretches.values()
            for place in out_of_order([ranks[self._exchanges[n].step] for n in numbers])
        }

    def _came_back(self, exchange: Exchange) -> CameBack:
        """What followed a challenge that nothing answered, as long as nothing else was done."""
        if exchange.answers:
            return "nothing"
        asked = exchange.asks[-1]
        end = self._evidence[asked].utterance.end
        back: CameBack = "nothing"
        for index in range(asked + 1, len(self._evidence)):
            one = self._evidence[index]
            if index not in self._asides or one.utterance.start - end > WAITED_SECONDS:
                break
            if one.utterance.surmised:
                continue
            if one.side > 0:
                return "receipt" if one.sides[0].act == "receipt" else back
            if self._may_answer(exchange.step, one.position):
                back = "talk"
        return back

    def _is_taken_back(self, exchange: Exchange) -> bool:
        """Whether the next thing after the last answer is "correction"."""
        if not exchange.answers:
            return False
        answer, after = self._evidence[exchange.answers[-1]], exchange.answers[-1] + 1
        if after not in self._asides or not says_correction(self._evidence[after]):
            return False
        pause = self._evidence[after].utterance.start - answer.utterance.end
        return pause <= CORRECTED_SECONDS

    def _may_answer(self, place: int, position: str) -> bool:
        step = self._steps[place].step
        stand_ins = step.stand_in if isinstance(step, Item) else ()
        return position in ("", step.by, *stand_ins)

    def _spoken(self) -> Iterator[Spoken]:
        for one in self._happened:
            if isinstance(one, Aside) and not self._evidence[one.utterance].utterance.surmised:
                phase = self._steps[max(one.step, 0)].phase
                yield Spoken(self._evidence[one.utterance], phase.id)

    def _resumed(self, resumed: Resumed) -> Event:
        heard = self._evidence[resumed.utterance]
        phase, step = self._steps[resumed.step]
        return Event(
            start=heard.utterance.start,
            end=heard.utterance.end,
            kind="resume",
            phase=phase.id,
            position=self._sheet.asks,
            heard=heard.utterance.text,
            value=float(step.key),
            p=squash(heard.resume[resumed.step]),
        )

    def _skipped(self) -> Iterator[Event]:
        done = {exchange.step for exchange in self._exchanges}
        for place, (phase, step) in enumerate(self._steps):
            if place not in done:
                moment, after = self._passed(place)
                note = "" if after else "the recording ends before it"
                yield skipped_step(step, phase.id, moment, self._p_unheard(place), note)

    def _passed(self, place: int) -> tuple[float, bool]:
        """When the run had gone past a step: the first later one, done in its order."""
        for number, exchange in enumerate(self._exchanges):
            if exchange.step > place and number not in self._misplaced:
                return self._evidence[exchange.first].utterance.start, True
        return self._end, False

    def _p_unheard(self, place: int) -> float:
        """Probability that no utterance outside the exchanges asked or answered this step."""
        return 1.0 - squash(float(self._likeliest_aside[place]))

    @cached_property
    def _likeliest_aside(self) -> NDArray[np.float64]:
        """For each step the best evidence in an aside that it was asked or answered."""
        best = np.full(len(self._steps), UNHEARD)
        for one in self._happened:
            if isinstance(one, Aside):
                heard = self._evidence[one.utterance]
                np.maximum(best, np.maximum(heard.ask, heard.answer - 2), out=best)
        return best

    def _phase_starts(self) -> dict[str, float]:
        starts: dict[str, float] = {}
        for number, exchange in enumerate(self._exchanges):
            if number not in self._misplaced:
                phase = self._steps[exchange.step].phase.id
                starts.setdefault(phase, self._evidence[exchange.first].utterance.start)
        return starts


def _ranks(sheet: Sheet) -> dict[int, int]:
    """Step index to its rank in the order; the items of an any-order group share one."""
    ranks: dict[int, int] = {}
    of_group: dict[str, int] = {}
    for place, (_, step) in enumerate(sheet.steps):
        if isinstance(step, Item):
            ranks[place] = of_group.setdefault(step.group, place) if step.group else place
    return ranks
