"""Where and when a log says the chamber was at a level: calls, and stays in phases at one level.

A call ("passing ten thousand") puts the chamber at a level at the moment it begins. A phase with
a `level` keeps it there from its call ("level at eight thousand") to the last row of the phase;
where the sheet has no such call, as on the ground, from the first row. Items are often read out
on the way to the level of their phase, so rows before the call count for nothing.
"""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from voxlog.follow.event import Event
from voxlog.sheet.model import Cue, Phase, Sheet

__all__ = [
    "SURE",
    "LeftOut",
    "Station",
    "decompression_cues",
    "departures",
    "is_done",
    "level_unit",
    "moment_of",
    "stations",
]

SURE = 0.5
"""Probability from which a row counts."""

_SPIKE = 3.0
"""A call is left out where its rates from and to its neighbours are that many times the usual."""


@dataclass(frozen=True, slots=True)
class Station:
    """A stretch, or moment, at one level. start, end: seconds of the recording.

    phase: of the call, or the first phase of the stay. called_in: phase of the call that began it,
    "" where none did.
    """

    start: float
    end: float
    level: float
    phase: str
    called_in: str

    @property
    def was_called(self) -> bool:
        return bool(self.called_in)

    @property
    def is_stay(self) -> bool:
        return self.end > self.start


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A call that the estimate does not rest on. start: seconds. reason: in words, for people."""

    start: float
    level: float
    reason: str


def level_unit(sheet: Sheet) -> str:
    """The unit of the sheet's levels: that of most of its callouts; "" where it has none."""
    units = Counter(callout.unit for phase in sheet.phases for callout in phase.callouts)
    return units.most_common(1)[0][0] if units else ""


def stations(sheet: Sheet, events: Iterable[Event]) -> tuple[list[Station], list[LeftOut]]:
    """Stations in order of time, none overlapping, and the calls that were left out."""
    rows = sorted(events, key=lambda row: row.start)
    calls, left_out = _calls(sheet, rows)
    calls, spikes = _without_spikes(calls)
    stays = [stay for phases in _steady(sheet) for stay in _stay(phases, sheet, rows, calls)]
    free = [call for call in calls if not any(s.start <= call.start <= s.end for s in stays)]
    ordered = sorted([*free, *stays], key=lambda each: each.start)
    return _joined(ordered), sorted([*left_out, *spikes], key=lambda each: each.start)


def _calls(sheet: Sheet, rows: Sequence[Event]) -> tuple[list[Station], list[LeftOut]]:
    unit = level_unit(sheet)
    names = {callout.id for phase in sheet.phases for callout in phase.callouts}
    calls: list[Station] = []
    left_out: list[LeftOut] = []
    for row in rows:
        if row.kind != "callout" or row.item not in names or row.value is None or row.unit != unit:
            continue
        if row.p < SURE or "uncertain" in row.flags:
            left_out.append(LeftOut(row.start, row.value, "voxlog is not sure of its value"))
        else:
            calls.append(Station(row.start, row.start, row.value, row.phase, row.phase))
    return calls, left_out


def _without_spikes(calls: Sequence[Station]) -> tuple[list[Station], list[LeftOut]]:
    """Less those that would need the chamber to leap away and back: a value said or heard wrong."""
    kept: list[Station] = list(calls)
    left_out: list[LeftOut] = []
    for call in calls:
        place = kept.index(call)
        if 0 < place < len(kept) - 1 and _leaps(kept, place):
            del kept[place]
            reason = "a leap away from the calls before and after it"
            left_out.append(LeftOut(call.start, call.level, reason))
    return kept, left_out


def _leaps(calls: Sequence[Station], place: int) -> bool:
    """Against the rates that there are without this call."""
    others = [*calls[:place], *calls[place + 1 :]]
    usual = median(abs(_rate(one, other)) for one, other in pairwise(others))
    there = _rate(calls[place - 1], calls[place])
    back = _rate(calls[place], calls[place + 1])
    return usual > 0 and there * back < 0 and min(abs(there), abs(back)) > _SPIKE * usual


def _rate(one: Station, other: Station) -> float:
    return (other.level - one.level) / max(other.start - one.start, 1.0)


def _steady(sheet: Sheet) -> Iterator[list[Phase]]:
    """Phases next to each other with one level, as one."""
    group: list[Phase] = []
    for phase in sheet.phases:
        if group and phase.level != group[-1].level:
            yield group
            group = []
        if phase.level is not None:
            group.append(phase)
    if group:
        yield group


def _stay(
    phases: Sequence[Phase], sheet: Sheet, rows: Sequence[Event], calls: Sequence[Station]
) -> Iterator[Station]:
    """The stay in `phases`, if their rows show one."""
    level = phases[0].level
    assert level is not None
    names = {phase.id for phase in phases}
    inside = [row for row in rows if row.phase in names and _is_work(row)]
    moves = [call.start for call in calls if call.level != level]
    moves += [start for start, to in decompression_cues(sheet, rows).items() if to != level]
    called = _call_of(level, phases, sheet, calls)
    if called is not None:
        leaves = min((move for move in moves if move > called.start), default=math.inf)
        ends = [row.end for row in inside if row.end > called.start and row.start <= leaves]
        if ends:
            end = min(max(ends), leaves)
            yield Station(called.start, end, level, phases[0].id, called.phase)
        return
    if _is_called(level, phases, sheet):
        # The call was not heard: by the last row the chamber is there, since when nobody knows.
        inside = inside[-1:]
    piece = max(_pieces(inside, moves), key=len, default=[])
    if piece:
        end = max(row.end for row in piece)
        yield Station(piece[0].start, end, level, phases[0].id, "")


def decompression_cues(sheet: Sheet, rows: Iterable[Event]) -> dict[float, float]:
    """When a rapid decompression was given, in seconds, and the level that it should end at."""
    drops = {
        step.id: step.decompression.to
        for _, step in sheet.steps
        if isinstance(step, Cue) and step.decompression is not None
    }
    given = (row for row in rows if row.kind == "cue" and row.item in drops and is_done(row))
    return {row.start: drops[row.item] for row in given}


def departures(sheet: Sheet, rows: Iterable[Event]) -> list[float]:
    """When the chamber left a level by a step that the sheet marks, in seconds."""
    marked = {step.key for _, step in sheet.steps if step.departs}
    steps = (row for row in rows if row.kind in ("item", "cue") and row.item in marked)
    return [moment_of(row) for row in steps if is_done(row)]


def moment_of(row: Event) -> float:
    """When what a step says begins: the go word of a cue, the end of an item's answer. Seconds."""
    return row.start if row.kind == "cue" else row.end


def is_done(row: Event) -> bool:
    """Whether a step was done as far as the log tells: confirmed, or a cue with its go word."""
    is_given = row.kind == "cue" and row.status is None
    return row.p >= SURE and (is_given or row.status == "confirmed")


def _is_work(row: Event) -> bool:
    is_step = row.kind in ("item", "cue") and row.status != "skipped"
    return is_step and row.p >= SURE and "out-of-order" not in row.flags


def _before_and_in(phases: Sequence[Phase], sheet: Sheet) -> list[Phase]:
    """Phases whose call may begin the stay: its own, and the one on the way to it."""
    first = next(n for n, phase in enumerate(sheet.phases) if phase is phases[0])
    return [*sheet.phases[max(first - 1, 0) : first], *phases]


def _is_called(level: float, phases: Sequence[Phase], sheet: Sheet) -> bool:
    near = _before_and_in(phases, sheet)
    return any(level in callout.levels for phase in near for callout in phase.callouts)


def _call_of(
    level: float, phases: Sequence[Phase], sheet: Sheet, calls: Sequence[Station]
) -> Station | None:
    near = {phase.id for phase in _before_and_in(phases, sheet)}
    found = [call for call in calls if call.level == level and call.phase in near]
    return found[0] if found else None


def _pieces(rows: Sequence[Event], moves: Sequence[float]) -> list[list[Event]]:
    """The rows parted wherever the chamber was on its way between two of them."""
    by_moves: dict[int, list[Event]] = {}
    for row in rows:
        by_moves.setdefault(sum(move <= row.start for move in moves), []).append(row)
    return list(by_moves.values())


def _joined(ordered: Sequence[Station]) -> list[Station]:
    """Stations that overlap made to meet, the later one beginning where the earlier ends."""
    joined: list[Station] = []
    for station in ordered:
        if joined and station.start < joined[-1].end:
            joined[-1] = replace(joined[-1], end=station.start)
        joined.append(station)
    return joined
