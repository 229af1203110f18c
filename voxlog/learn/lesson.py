"""What the decisions on one run say about its sheet. Pure.

Only rows whose decisions are agreed count. A lesson is one of

    response   an item was corrected to confirmed or negative, and the words that were really said
               are not on the sheet
    misheard   a row was cleared, or corrected in its status or value, so what the log heard there
               was not said (phrase: "" where it heard no answer)
    unit       a value was corrected to another unit than the sheet's, or its words name another
    own-unit   a value was found right in the sheet's unit

The words of a response are those that the reviewer wrote into the corrected row; where the reviewer
left them as they were, the free transcription of the speech that nothing on the sheet explained,
between the challenge and the end of the time for an answer.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from voxlog.follow.event import Event
from voxlog.learn.unit import named_unit
from voxlog.review.outcome import Outcome
from voxlog.sheet.model import Callout, Item, Reading, Sheet, ValueSpec
from voxlog.sheet.phrases import sheet_phrases

__all__ = ["Lesson", "LessonKind", "Run", "lessons_of", "part_with_unit"]

LessonKind = Literal["response", "misheard", "unit", "own-unit"]

MAX_WORDS = 8
"""Words in a response; longer ones are talk around an answer."""

_WORD = re.compile(r"[^\W\d_]+(?:['\u2019-][^\W\d_]+)*")


@dataclass(frozen=True, slots=True)
class Run:
    """A reviewed run. name: of its folder. seal: of its log, so that copies count once.

    utterances: as utterances.jsonl has them.
    """

    name: str
    seal: str
    sheet: Sheet
    outcomes: Sequence[Outcome]
    utterances: Sequence[Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Lesson:
    """One row's word on the sheet.

    step: the item's number, or the id of the reading or callout.
    act: confirm or deny, the list that the phrase belongs to; for a unit the kind of the row.
    phrase: what was said (response), what was heard instead (misheard).
    unit: that the value was spoken in.
    is_written: a reviewer wrote the phrase; else it is a transcription.
    """

    kind: LessonKind
    step: str
    run: str
    seal: str
    row: int
    reviewers: tuple[str, ...]
    act: str = ""
    phrase: str = ""
    unit: str = ""
    is_written: bool = True


def lessons_of(run: Run, target: Sheet) -> list[Lesson]:
    """Everything that a run says about `target`, the sheet that is to be changed.

    Rows of items that ask something else on `target` than they did in the run say nothing.
    """
    learner = _Learner(run, target)
    return [lesson for row in run.outcomes if row.state == "agreed" for lesson in learner.read(row)]


def part_with_unit(sheet: Sheet, kind: str, step: str) -> ValueSpec | Reading | Callout | None:
    """What gives the unit of a row of the log; None where the row has no number of its own."""
    if kind == "item":
        return next((item.value for item in sheet.items if item.key == step), None)
    readings = [*sheet.readings, *(r for phase in sheet.phases for r in phase.readings)]
    callouts = [callout for phase in sheet.phases for callout in phase.callouts]
    parts: Sequence[Reading | Callout] = readings if kind == "reading" else callouts
    return next((part for part in parts if part.id == step), None)


class _Learner:
    def __init__(self, run: Run, target: Sheet) -> None:
        self._run = run
        self._target = target
        self._used = {item.key: item for item in run.sheet.items}
        self._items = {
            item.key: item
            for item in target.items
            if item.key in self._used and self._used[item.key].ask == item.ask
        }
        self._general = {phrase.text for phrase in sheet_phrases(target) if not phrase.step}

    def read(self, row: Outcome) -> Iterator[Lesson]:
        if row.logged.kind == "item":
            response = self._response(row)
            if response and response.phrase not in self._listed(self._items[response.step]):
                yield response
            # What the sheet of the run did not have could not be heard.
            is_explained = response is not None and response.phrase not in self._listed(
                self._used[response.step]
            )
            if not row.is_added and self._is_misheard(row):
                yield from self._misheard(row, is_explained=is_explained)
        if row.event is not None and row.latest:
            yield from self._unit(row, row.event)

    def _lesson(self, kind: LessonKind, row: Outcome, step: str, **more: Any) -> Lesson:
        reviewers = tuple(decision.reviewer for decision in row.latest)
        return Lesson(kind, step, self._run.name, self._run.seal, row.row, reviewers, **more)

    def _listed(self, item: Item) -> set[str]:
        return {*item.ask, *item.confirm, *item.deny, *self._general}

    def _response(self, row: Outcome) -> Lesson | None:
        """What was answered, on the sheet or not."""
        event = row.event
        if event is None or not any(decision.event is not None for decision in row.latest):
            return None
        item = self._items.get(event.item)
        act = {"confirmed": "confirm", "negative": "deny"}.get(event.status or "")
        if item is None or act is None or event.value is not None:
            return None
        is_written = row.is_added or event.heard != row.logged.heard
        words = _answer(event.heard if is_written else self._transcribed(row.logged, item), item)
        if not words or len(words.split()) > MAX_WORDS:
            return None
        return self._lesson("response", row, item.key, act=act, phrase=words, is_written=is_written)

    def _transcribed(self, logged: Event, item: Item) -> str:
        """The first speech in the time for an answer that the sheet does not explain."""
        latest = logged.end + self._run.sheet.seconds_to_answer(item)
        for utterance in self._run.utterances:
            start = utterance["start_ms"] / 1000
            is_explained = any(heard["evidence_millinats"] > 0 for heard in utterance["heard"])
            is_speech = not utterance.get("surmised")
            if logged.start <= start <= latest and is_speech and not is_explained:
                return str(utterance["text"])
        return ""

    def _is_misheard(self, row: Outcome) -> bool:
        """Whether the log heard something else than was said, as its readers found."""
        if not row.latest or not row.findings:
            return False
        now = row.event
        return now is None or (now.status, now.value) != (row.logged.status, row.logged.value)

    def _misheard(self, row: Outcome, *, is_explained: bool) -> Iterator[Lesson]:
        """is_explained: the answer could not be heard, because the sheet lacks it."""
        item = self._items.get(row.logged.item)
        if item is None:
            return
        heard = _answer(row.logged.heard, item)
        is_answer = heard in item.confirm or heard in item.deny
        if is_answer or (not heard and not is_explained):
            act = "deny" if heard in item.deny else "confirm"
            yield self._lesson("misheard", row, item.key, act=act, phrase=heard)

    def _unit(self, row: Outcome, event: Event) -> Iterator[Lesson]:
        """A reviewer says it by the row's unit, or by the words that were said."""
        part = part_with_unit(self._target, event.kind, event.item)
        if part is None or event.value is None or not event.unit:
            return
        unit = event.unit
        if unit == part.unit and (row.is_added or event.heard != row.logged.heard):
            unit = named_unit(event.heard, unit)
        kind: LessonKind = "own-unit" if unit == part.unit else "unit"
        yield self._lesson(kind, row, event.item, act=event.kind, unit=unit)


def _answer(heard: str, item: Item) -> str:
    """The words after the challenge: `heard` of a row is "challenge / answer"; "" for none.

    Also for words that no phrase can have, such as figures.
    """
    words = heard.rpartition(" / ")[2].split()
    plain = [word.strip('.,!?;:"').lower().replace("\u2019", "'") for word in words]
    if not all(_WORD.fullmatch(word) for word in plain):
        return ""
    text = " ".join(plain)
    for ask in item.ask:
        if text == ask or text.startswith(f"{ask} "):
            return text[len(ask) :].strip()
    return text
