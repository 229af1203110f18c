"""Follow a run while it goes. Pure: utterances in, changes of the log out.

After each utterance the whole run so far is followed again, by the same alignment as a finished
recording. So the last prefix is the final pass, and nothing about a run depends on how it was cut
up while it went.

Some rows say that something was not heard. They are held back until it has had its time: an item
that was asked and not answered, a callout that waits for its read-back, what was passed over, and
words that fit nowhere yet.
"""

from bisect import insort
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from voxlog.follow.certainty import with_certainty
from voxlog.follow.event import Event
from voxlog.follow.follower import judge_run
from voxlog.follow.query import Query, hear_queries, take_out_queries, with_queries
from voxlog.live.provisional import (
    Added,
    Change,
    Difference,
    NumberedRow,
    apply_changes,
    changes,
    difference,
    is_same_row,
)
from voxlog.log.record import rounded
from voxlog.sheet.model import Callout, Item, Sheet
from voxlog.sheet.phrases import Act, Phrase
from voxlog.speech.utterance import Utterance

__all__ = ["LiveFollower"]

PATIENCE = 15.0
"""Seconds in which an answer may come although the run went on; as in follow/exchange."""
LATER_STEPS = 2
"""Steps begun after one that was passed over that make it certain before that."""
DOUBTFUL = 0.5
"""Probability, as judged, under which the words of a note may yet find their place in the sheet,
and a go word may yet prove to be one of the count before it. What such a cue is worth at the end of
a run (`follow/certainty.py`) is more: by then the count has been heard out."""
GRACE = 4.0
"""Seconds beyond `within` in which a late answer or read-back mostly comes."""


@dataclass
class LiveFollower:
    """One run being followed. Times are seconds from the start of the recording.

    rows: as reported; first: number to the row as it was first reported; next_number: that of the
    next new row. These three are given for a run that is taken up again: pushing all that was
    heard before at once then gives what its log lacks.
    events: all that the follower makes of the run so far, also what is held back; what a display
    shows; on the log's grid of samples. judged: the same with p as each row was judged by itself:
    whether a step was asked does not hang on how much of the run was understood, and a gate must
    not be silent where little was.
    """

    sheet: Sheet
    phrases: Sequence[Phrase]
    positions: Mapping[int, str] = field(default_factory=dict)
    rows: list[NumberedRow] = field(default_factory=list)
    first: dict[int, Event] = field(default_factory=dict)
    next_number: int = 1
    events: list[Event] = field(default_factory=list, init=False)
    judged: list[Event] = field(default_factory=list, init=False)
    utterances: list[Utterance] = field(default_factory=list, init=False)
    _known: set[tuple[int, float, Act]] = field(default_factory=set, init=False)
    _only_at_end: int = field(default=0, init=False)

    def push(
        self,
        *heard: Utterance,
        instead_of: Collection[Utterance] = (),
        is_settled: bool = True,
    ) -> list[Change]:
        """Take in what was heard, in any order; the newest utterance's end is taken as now.

        instead_of: utterances pushed before that these replace, because their segments were heard
        again. is_settled: whether there is no longer search to come; if there is, talk is held
        back until `tick`, since it may yet prove to be a phrase of the sheet.
        """
        if instead_of:
            self.utterances = [one for one in self.utterances if one not in instead_of]
        for one in heard:
            insort(self.utterances, one, key=lambda each: (each.start, each.channel))
        now = max((one.end for one in self.utterances), default=0.0)
        self._follow(now, is_over=False)
        return self._report(now, is_settled=is_settled)

    def tick(self, now: float) -> list[Change]:
        """What has become certain by the time alone; now: seconds recorded so far."""
        return self._report(now)

    def finish(self, end: float) -> list[Change]:
        """The final pass; end: length of the recording."""
        self._follow(end, is_over=True)
        made = self._take(changes(self.rows, self.events, self.next_number))
        self._only_at_end = sum(isinstance(change, Added) for change in made)
        return made

    def difference(self) -> Difference:
        """How what was reported while the run went compares with the final pass; after finish."""
        return difference(self.first, self.rows, self._only_at_end)

    def take_questions(self) -> list[Query]:
        """The questions understood since the last call, to be answered now.

        A bare call-word is none. A mark counts once: its words may come later and change its row
        only.
        """
        found = {
            (one.channel, one.start, one.act): one
            for one in hear_queries(self.utterances, self.sheet, self.phrases)
            if one.act != "call-word"
        }
        new = [query for key, query in found.items() if key not in self._known]
        self._known |= found.keys()
        return new

    def _follow(self, end: float, *, is_over: bool) -> None:
        """is_over: if not, what lies at the end itself only says that it might have ended here."""
        heard = take_out_queries(self.utterances, self.sheet, self.phrases)
        asked = hear_queries(self.utterances, self.sheet, self.phrases)
        rows = judge_run(heard, self.sheet, self.phrases, end, self.positions)
        self.events, self.judged = (
            [
                rounded(row)
                for row in with_queries(each, asked)
                if is_over or row.status != "skipped" or row.start < end
            ]
            for each in (with_certainty(rows), rows)
        )

    def _report(self, now: float, *, is_settled: bool = True) -> list[Change]:
        certain = [
            event
            for event, judged in zip(self.events, self.judged, strict=True)
            if self._is_certain(event, judged.p, now)
            and (is_settled or event.kind != "note" or self._is_reported(event))
        ]
        made = self._take(changes(self.rows, certain, self.next_number))
        for change in made:
            if isinstance(change, Added):
                self.first[change.number] = change.event
        return made

    def _take(self, made: list[Change]) -> list[Change]:
        self.rows = apply_changes(self.rows, made)
        self.next_number += sum(isinstance(change, Added) for change in made)
        return made

    def _is_certain(self, event: Event, judged: float, now: float) -> bool:
        """Whether a row is to be reported: at once, unless it says that something was not heard.

        judged: the row's p as judged by itself.
        """
        if event.status == "skipped":
            return self._is_passed(event, now) or any(
                _is_known_gap(row.event, event) for row in self.rows
            )
        if event.status == "unconfirmed" and "misread" not in event.flags:
            return (
                now - event.end >= self._seconds_to_answer(event) + GRACE
                or any(_has_begun(row) and row.start > event.end for row in self._steps(event))
                or self._is_reported(event)
            )
        if event.kind in ("note", "cue") and judged < DOUBTFUL:
            return self._is_reported(event) or now - event.end >= PATIENCE
        return True

    def _is_reported(self, event: Event) -> bool:
        return any(is_same_row(row.event, event) for row in self.rows)

    def _steps(self, event: Event) -> list[Event]:
        """Rows that show that the run went on from this one."""
        kinds = ("callout",) if event.kind == "callout" else ("item", "cue")
        return [row for row in self.events if row.kind in kinds and row.item != event.item]

    def _is_passed(self, event: Event, now: float) -> bool:
        """Whether the run has left behind what was not heard, long enough or far enough."""
        if event.kind == "callout":
            return now - event.start >= PATIENCE
        begun = self._begun_behind(event)
        return len(begun) >= LATER_STEPS or any(now - start >= PATIENCE for start in begun.values())

    def _begun_behind(self, event: Event) -> dict[str, float]:
        """Steps begun since that stand behind a step, outside its any-order group, and when."""
        places = {step.key: place for place, (_, step) in enumerate(self.sheet.steps)}
        place = places[event.item]
        group = _group(self.sheet, place)
        begun: dict[str, float] = {}
        for row in self.events:
            other = places.get(row.item, -1)
            is_behind = other > place and not (group and _group(self.sheet, other) == group)
            if is_behind and _has_begun(row) and row.start >= event.start:
                begun.setdefault(row.item, row.start)
        return begun

    def _seconds_to_answer(self, event: Event) -> float:
        if event.kind == "item":
            return self.sheet.seconds_to_answer(self.sheet.item(int(event.item)))
        waiting = _callout(self.sheet, event.item)
        return (waiting.within if waiting else None) or self.sheet.within


def _callout(sheet: Sheet, name: str) -> Callout | None:
    every = (callout for phase in sheet.phases for callout in phase.callouts)
    return next((callout for callout in every if callout.id == name), None)


def _group(sheet: Sheet, place: int) -> str | None:
    step = sheet.steps[place].step
    return step.group if isinstance(step, Item) else None


def _has_begun(row: Event) -> bool:
    return row.status != "skipped"


def _is_known_gap(row: Event, event: Event) -> bool:
    is_same = (row.kind, row.item, row.value) == (event.kind, event.item, event.value)
    return row.status == "skipped" and is_same
