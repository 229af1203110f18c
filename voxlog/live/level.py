"""The level that the run is at, since when, and how long it may stay. Pure.

A level is a phase's `level` in the sheet; phases next to each other with the same level are one
stay. It begins when the level is called, or else with the first step of these phases.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain

from voxlog.follow.event import Event
from voxlog.live.gate import SURE
from voxlog.sheet.model import Callout, Phase, Sheet

__all__ = ["Stay", "last_level", "stay"]


@dataclass(frozen=True, slots=True)
class Stay:
    """A stay at a level. since: seconds from the start of the recording. limit: in seconds."""

    level: float
    unit: str
    since: float
    limit: float | None


def stay(sheet: Sheet, events: Sequence[Event]) -> Stay | None:
    """The stay that goes on; None on the way, on the ground, and before anything was done.

    events: in order of time. A ground phase (level 0) counts only if the sheet limits it.
    """
    steps = [row for row in events if row.kind in ("item", "cue") and _is_sure(row)]
    called = last_level(sheet, events)
    places = {phase.id: place for place, phase in enumerate(sheet.phases)}
    # Free of the order of items: work out of order does not take the chamber anywhere.
    in_order = [row for row in steps if "out-of-order" not in row.flags]
    place = places[in_order[-1].phase] if in_order else -1
    if place < 0 or sheet.phases[place].level is None:
        place = _called_ahead(sheet, place, called)
    if place < 0:
        return None
    phases = _one_stay(sheet, place)
    level, limits = phases[0].level, [phase.time_limit for phase in phases]
    limit = next((each for each in limits if each is not None), None)
    if level is None or (level == 0 and limit is None):
        return None
    since = _since(sheet, phases, level, events)
    return None if since is None else Stay(level, _unit(sheet, phases[0]), since, limit)


def last_level(sheet: Sheet, events: Iterable[Event]) -> Event | None:
    """The last row of a level that was called."""
    names = {callout.id for callout in _callouts(sheet.phases)}
    rows = [row for row in events if row.kind == "callout" and _is_sure(row) and row.item in names]
    return rows[-1] if rows else None


def _called_ahead(sheet: Sheet, place: int, called: Event | None) -> int:
    """Place of the phase whose level was called before any of its steps; -1 for none."""
    after = next((n for n in range(place + 1, len(sheet.phases)) if sheet.phases[n].steps), -1)
    is_there = called is not None and after >= 0 and sheet.phases[after].level == called.value
    return after if is_there else -1


def _one_stay(sheet: Sheet, place: int) -> list[Phase]:
    first, last, level = place, place, sheet.phases[place].level
    while first > 0 and sheet.phases[first - 1].level == level:
        first -= 1
    while last + 1 < len(sheet.phases) and sheet.phases[last + 1].level == level:
        last += 1
    return list(sheet.phases[first : last + 1])


def _since(
    sheet: Sheet, phases: Sequence[Phase], level: float, events: Iterable[Event]
) -> float | None:
    names = {phase.id for phase in phases}
    first = sheet.phases.index(phases[0])
    before = {phase.id for phase in sheet.phases[max(first - 1, 0) : first]} | names
    found = [
        row.start
        for row in events
        if _is_sure(row)
        and (
            (row.kind in ("item", "cue") and row.phase in names)
            or (row.kind == "callout" and row.phase in before and row.value == level)
        )
    ]
    return min(found, default=None)


def _unit(sheet: Sheet, phase: Phase) -> str:
    every = chain(_callouts([phase]), _callouts(sheet.phases))
    return next((callout.unit for callout in every), "")


def _callouts(phases: Iterable[Phase]) -> list[Callout]:
    return [callout for phase in phases for callout in phase.callouts]


def _is_sure(row: Event) -> bool:
    return row.status != "skipped" and row.p >= SURE
