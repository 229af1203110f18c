"""Gates and what is open: advice when a step begins whose forerunners are not all closed. Pure.

An item is closed when its last row is confirmed and within its limits. Whatever else the log has of
it, or nothing, leaves it open. The advice never stops anything.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from voxlog.follow.event import Event
from voxlog.live.state import OpenItem
from voxlog.sheet.gates import gated_items, has_gate
from voxlog.sheet.model import Item, Sheet

__all__ = ["Advice", "advise", "begun", "furthest", "open_behind", "open_message", "open_of"]

SURE = 0.5
"""Probability of a row under which a step is not taken to have begun: advice makes a sound."""
NOT_ASKED = "challenge not heard"


@dataclass(frozen=True, slots=True)
class Advice:
    """What is open at a gate. step: key of the gate's step. text: what is shown and spoken."""

    step: str
    open: tuple[OpenItem, ...]
    text: str


def advise(sheet: Sheet, before: Sequence[Event], after: Sequence[Event]) -> list[Advice]:
    """The advice for each gate that was begun between two states of the log; mostly none.

    before, after: all rows, in order of time, as they were before and after the newest utterance.
    """
    advice = []
    for place in begun(sheet, before, after):
        if has_gate(sheet, place):
            phase = sheet.steps[place].phase.id
            opens = not any(_has_begun(row) and row.phase == phase for row in before)
            found = open_of(gated_items(sheet, place, opens_phase=opens), after)
            if found:
                advice.append(Advice(sheet.steps[place].step.key, found, open_message(found)))
    return advice


def begun(sheet: Sheet, before: Iterable[Event], after: Iterable[Event]) -> list[int]:
    """Places of the steps begun between two states: asked, announced, or the go word said.

    A step done again later counts again. An answer alone begins nothing, nor does a doubtful row.
    """
    started = _times_begun(sheet, before)
    now = _times_begun(sheet, after)
    return [place for place, times in sorted(now.items()) if times > started.get(place, 0)]


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


def _has_begun(row: Event) -> bool:
    return row.kind in ("item", "cue") and row.status != "skipped" and row.p >= SURE


def _places(sheet: Sheet) -> dict[str, int]:
    return {step.key: place for place, (_, step) in enumerate(sheet.steps)}
