"""Gates and what is open: advice when a step begins whose forerunners are not closed. Pure.

An item is closed when its last row is confirmed and within its limits. Whatever else the log has of
it, or nothing, leaves it open. The advice never stops anything.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from voxlog.follow.event import Event
from voxlog.live.state import OpenItem
from voxlog.sheet.gates import gated_items, has_gate
from voxlog.sheet.model import Item, Sheet

__all__ = [
    "Advice",
    "Gatekeeper",
    "furthest",
    "open_behind",
    "open_message",
    "open_of",
    "still_open",
]

SURE = 0.5
"""Probability of a row under which a step is not taken to have begun: advice makes a sound."""
NOT_ASKED = "challenge not heard"


@dataclass(frozen=True, slots=True)
class Advice:
    """What is open at a gate. step: key of the gate's step. text: what is shown and spoken."""

    step: str
    open: tuple[OpenItem, ...]
    text: str


class Gatekeeper:
    """Watches for gates being begun. It remembers which were, so that none is advised on twice.

    Args:
        sheet: with its gates, or without any.
        events: what had happened before it was there, for a run that is taken up again.
    """

    def __init__(self, sheet: Sheet, events: Sequence[Event] = ()) -> None:
        self._sheet = sheet
        self._times = _times_begun(sheet, events)
        self._phases = _phases_begun(events)

    def advise(self, events: Sequence[Event]) -> list[Advice]:
        """The advice for each gate that was begun since the last call; mostly none.

        events: all rows so far, in order of time (LiveFollower.judged). A step is begun when it is
        asked, announced, or its go word said; done again later it is begun again. An answer that
        nobody asked for begins nothing, nor does a doubtful row.
        """
        now = _times_begun(self._sheet, events)
        begun = [place for place, times in now.items() if times > self._times.get(place, 0)]
        advice = [self._advice(place, events) for place in sorted(begun)]
        self._times |= {place: now[place] for place in begun}
        self._phases |= _phases_begun(events)
        return [one for one in advice if one is not None]

    def _advice(self, place: int, events: Sequence[Event]) -> Advice | None:
        if not has_gate(self._sheet, place):
            return None
        phase, step = self._sheet.steps[place]
        wanted = gated_items(self._sheet, place, opens_phase=phase.id not in self._phases)
        found = open_of(wanted, events)
        return Advice(step.key, found, open_message(found)) if found else None


def still_open(sheet: Sheet, advice: Advice, events: Iterable[Event]) -> str:
    """What an advice comes to by now, for the display; "" when all of it is closed."""
    numbers = {one.number for one in advice.open}
    return open_message(open_of((item for item in sheet.items if item.key in numbers), events))


def furthest(sheet: Sheet, events: Iterable[Event]) -> int:
    """Place of the last step in the sheet's order that was begun in its order; -1 for none."""
    places = _places(sheet)
    return max(
        (
            places[row.item]
            for row in events
            if _has_begun(row) and row.item in places and "out-of-order" not in row.flags
        ),
        default=-1,
    )


def open_behind(sheet: Sheet, events: Sequence[Event]) -> tuple[OpenItem, ...]:
    """The mandatory items that the run has left behind and that are not closed.

    Those of the any-order group that is being worked through are still to come.
    """
    place = furthest(sheet, events)
    if place < 0:
        return ()
    last = sheet.steps[place].step
    group = last.group if isinstance(last, Item) else None
    passed = [
        step
        for _, step in sheet.steps[:place]
        if isinstance(step, Item) and step.mandatory and (not group or step.group != group)
    ]
    return open_of(passed, events)


def open_of(items: Iterable[Item], events: Iterable[Event]) -> tuple[OpenItem, ...]:
    """Those of the items that are not closed, and why."""
    last = {row.item: row for row in events if row.kind == "item"}
    found = [(item, _reason(last.get(item.key))) for item in items]
    return tuple(OpenItem(item.key, item.ask[0], reason) for item, reason in found if reason)


def open_message(items: Sequence[OpenItem]) -> str:
    """The advice in a few words: "open: item 14, visor, negative, and 3 more"; "" for none."""
    if not items:
        return ""
    first = items[0]
    reason = f", {first.reason}" if first.reason in ("negative", "off limit") else ""
    more = f", and {len(items) - 1} more" if len(items) > 1 else ""
    return f"open: item {first.number}, {first.words}{reason}{more}"


def _reason(row: Event | None) -> str:
    """Why an item with this last row is open; "" for one that is closed."""
    if row is None or row.status == "skipped":
        return "not heard"
    if row.status == "confirmed":
        return "off limit" if "off-limit" in row.flags else ""
    return "negative" if row.status == "negative" else "not answered"


def _times_begun(sheet: Sheet, events: Iterable[Event]) -> dict[int, int]:
    places = _places(sheet)
    times: dict[int, int] = {}
    for row in events:
        if _has_begun(row) and NOT_ASKED not in row.note and row.item in places:
            times[places[row.item]] = times.get(places[row.item], 0) + 1
    return times


def _phases_begun(events: Iterable[Event]) -> set[str]:
    return {row.phase for row in events if _has_begun(row)}


def _has_begun(row: Event) -> bool:
    return row.kind in ("item", "cue") and row.status != "skipped" and row.p >= SURE


def _places(sheet: Sheet) -> dict[str, int]:
    return {step.key: place for place, (_, step) in enumerate(sheet.steps)}
