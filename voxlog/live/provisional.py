"""What changes in the log while a run goes: rows new, corrected by later evidence, withdrawn. Pure.

A run is followed again from its beginning after each utterance (live/follower.py); this module
compares the rows that come of it with those reported before. A row's number is its own for the
whole run and is never given to another row.
"""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from voxlog.follow.event import Event

__all__ = [
    "Added",
    "Change",
    "Corrected",
    "Difference",
    "NumberedRow",
    "Withdrawn",
    "apply_changes",
    "changes",
    "difference",
    "is_same_row",
]

COLLAR = 0.5
"""Seconds that the start of a row may move and it still is the same row."""


@dataclass(frozen=True, slots=True)
class NumberedRow:
    """A row as it was last reported. number: from 1, its own for the whole run."""

    number: int
    event: Event


@dataclass(frozen=True, slots=True)
class Added:
    """A row that was not reported before."""

    number: int
    event: Event


@dataclass(frozen=True, slots=True)
class Corrected:
    """A row that later evidence shows otherwise; was: what was reported before."""

    number: int
    event: Event
    was: Event


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A row that later evidence shows never to have been; event: what was reported."""

    number: int
    event: Event


Change = Added | Corrected | Withdrawn


@dataclass(frozen=True, slots=True)
class Difference:
    """How the rows, as first reported, fared until the end.

    stood: their verdict (kind, item, status, flags, value) is that of the final pass. corrected,
    withdrawn: it is another, there is none. only_at_end: final rows never reported before it.
    """

    stood: int
    corrected: int
    withdrawn: int
    only_at_end: int


def changes(
    before: Sequence[NumberedRow], after: Sequence[Event], next_number: int
) -> list[Change]:
    """What has to be reported so that the rows `before` become `after`.

    A row stays the same row if it is of the same kind and step and starts within COLLAR of where it
    did; what is left of a step's rows is matched in the order in which it was worked through, and
    of a callout's by level. next_number: that of the first new row.
    """
    matched, new = _match(before, after)
    found: list[Change] = []
    for row in before:
        event = matched.get(row.number)
        if event is None:
            found.append(Withdrawn(row.number, row.event))
        elif event != row.event:
            found.append(Corrected(row.number, event, row.event))
    found += [Added(next_number + n, event) for n, event in enumerate(new)]
    return found


def apply_changes(rows: Iterable[NumberedRow], made: Iterable[Change]) -> list[NumberedRow]:
    """The rows after the changes, in order of time."""
    now = {row.number: row.event for row in rows}
    for change in made:
        if isinstance(change, Withdrawn):
            del now[change.number]
        else:
            now[change.number] = change.event
    numbered = [NumberedRow(number, event) for number, event in now.items()]
    return sorted(numbered, key=lambda row: (*_time(row.event), row.number))


def difference(
    first: Mapping[int, Event], final: Sequence[NumberedRow], only_at_end: int
) -> Difference:
    """Compare rows as first reported while the run went with those of the final pass.

    first: number to event. only_at_end: rows that the final pass added.
    """
    last = {row.number: row.event for row in final}
    kept = [number for number in first if number in last]
    stood = sum(_verdict(first[number]) == _verdict(last[number]) for number in kept)
    return Difference(stood, len(kept) - stood, len(first) - len(kept), only_at_end)


def is_same_row(one: Event, other: Event) -> bool:
    """Whether two rows, of two prefixes of a run, are about the same exchange or words."""
    return _step(one) == _step(other) and abs(one.start - other.start) <= COLLAR


def _match(
    before: Sequence[NumberedRow], after: Sequence[Event]
) -> tuple[dict[int, Event], list[Event]]:
    """Number to the event that the row has become, and the events that are new."""
    matching = _Matching(before, after)
    matching.join(lambda row: row)
    matching.join(lambda row: (_step(row), row.start, row.value))
    matching.join(lambda row: (_step(row), row.start) if row.status != "skipped" else None)
    matching.join_near()
    matching.join(lambda row: (_step(row), row.value) if row.kind == "callout" else None)
    matching.join(lambda row: _step(row) if row.kind in ("item", "cue") else None)
    return matching.matched, matching.new


class _Matching:
    """Joins rows with events, the surest ways first."""

    def __init__(self, before: Sequence[NumberedRow], after: Sequence[Event]) -> None:
        self.matched: dict[int, Event] = {}
        self.old = sorted(before, key=lambda row: _time(row.event))
        self.new = sorted(after, key=_time)

    def join(self, key: Callable[[Event], Hashable | None]) -> None:
        """Join what has the same key, in order of time; a key of None is nobody's."""
        waiting: dict[Hashable, list[NumberedRow]] = {}
        for row in reversed(self.old):
            waiting.setdefault(key(row.event), []).append(row)
        waiting.pop(None, None)
        left = []
        for event in self.new:
            if rows := waiting.get(key(event)):
                self.matched[rows.pop().number] = event
            else:
                left.append(event)
        self._keep(left)

    def join_near(self) -> None:
        """Join rows that were heard with the nearest of their step, within COLLAR."""
        pairs = sorted(
            (abs(row.event.start - event.start), row.number, place)
            for row in self.old
            for place, event in enumerate(self.new)
            if is_same_row(row.event, event) and "skipped" not in (row.event.status, event.status)
        )
        taken: set[int] = set()
        for _, number, place in pairs:
            if number not in self.matched and place not in taken:
                self.matched[number] = self.new[place]
                taken.add(place)
        self._keep([event for place, event in enumerate(self.new) if place not in taken])

    def _keep(self, left: list[Event]) -> None:
        self.old = [row for row in self.old if row.number not in self.matched]
        self.new = left


def _step(event: Event) -> tuple[str, str]:
    return event.kind, event.item


def _time(event: Event) -> tuple[float, float]:
    return event.start, event.end


def _verdict(event: Event) -> tuple[object, ...]:
    return event.kind, event.item, event.status, event.flags, event.value
