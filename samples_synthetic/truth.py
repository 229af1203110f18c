"""What a perfect log would say of a script that was spoken: the rows of truth.csv.

The rules that need a time or the rows around it are here: where something not done is noted,
late, out of order, repeated. The rest stands in the script already.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from samples_synthetic.script import Row
from samples_synthetic.timeline import Spoken, cue_times
from voxlog.follow.event import FLAGS, Event, Flag
from voxlog.sheet.model import Sheet

__all__ = ["out_of_order", "true_events"]


@dataclass(frozen=True, slots=True)
class _Known:
    """A row with its times; none yet if it was not done."""

    row: Row
    heard: str
    start: float | None
    end: float | None
    flags: tuple[Flag, ...]


def true_events(sheet: Sheet, spoken: Sequence[Spoken], length: float) -> list[Event]:
    """The events of a recording of so many seconds, in the order of their start."""
    cues = cue_times(list(spoken))
    known = [_known(row, one, cues) for one in spoken for row in one.beat.rows]
    known = _flag_sequence(known, sheet)
    events = [_event(one, _place(known, index, length)) for index, one in enumerate(known)]
    return sorted(events, key=lambda event: event.start)


def out_of_order(ranks: Sequence[int]) -> set[int]:
    """Indexes outside a longest non-decreasing subsequence; of equal ones, the later are outside.

    >>> out_of_order([1, 3, 2, 4])
    {2}
    """
    # longest[i]: length of the longest subsequence that starts at i.
    longest = [1] * len(ranks)
    for i in range(len(ranks) - 1, -1, -1):
        after = [longest[j] for j in range(i + 1, len(ranks)) if ranks[j] >= ranks[i]]
        longest[i] += max(after, default=0)
    kept: set[int] = set()
    need, least = max(longest, default=0), min(ranks, default=0)
    for i, rank in enumerate(ranks):
        if need and longest[i] == need and rank >= least:
            kept.add(i)
            need, least = need - 1, rank
    return set(range(len(ranks))) - kept


def _known(row: Row, one: Spoken, cues: Mapping[str, float]) -> _Known:
    if not row.lines:
        return _Known(row, "", None, None, row.flags)
    heard = " / ".join(one.beat.said[line].text for line in row.lines)
    start, end = one.starts[row.lines[0]], one.ends[row.lines[-1]]
    flags = {*row.flags, *(("late",) if _is_late(row, one, cues) else ())}
    return _Known(row, heard, start, end, tuple(flag for flag in FLAGS if flag in flags))


def _is_late(row: Row, one: Spoken, cues: Mapping[str, float]) -> bool:
    if row.due is not None and row.value is not None:
        elapsed = one.starts[0] - cues[row.due.cue]
        return abs(elapsed - row.value) > row.due.seconds
    if row.asked is None or row.answered is None:
        return False
    return one.starts[row.answered] - one.ends[row.asked] > row.within


def _flag_sequence(known: list[_Known], sheet: Sheet) -> list[_Known]:
    """Add repeated and out-of-order, which depend on the other items' rows."""
    rank = _ranks(sheet)
    done: set[str] = set()
    flags: dict[int, set[Flag]] = {}
    stretch: list[int] = []
    for index, one in enumerate(known):
        if one.row.kind == "resume":
            _flag_stretch(known, stretch, rank, flags)
            stretch = []
        if one.row.kind == "item" and one.start is not None:
            if one.row.item in done:
                flags.setdefault(index, set()).add("repeated")
            done.add(one.row.item)
            stretch.append(index)
    _flag_stretch(known, stretch, rank, flags)
    return [
        replace(one, flags=tuple(f for f in FLAGS if f in {*one.flags, *flags.get(index, ())}))
        for index, one in enumerate(known)
    ]


def _flag_stretch(
    known: list[_Known],
    stretch: list[int],
    rank: Mapping[str, int],
    flags: dict[int, set[Flag]],
) -> None:
    for place in out_of_order([rank[known[index].row.item] for index in stretch]):
        flags.setdefault(stretch[place], set()).add("out-of-order")


def _ranks(sheet: Sheet) -> Mapping[str, int]:
    """Each item's place in the sheet; items of one any-order group share one."""
    ranks: dict[str, int] = {}
    of_group: dict[str, int] = {}
    for place, item in enumerate(sheet.items):
        ranks[item.key] = of_group.setdefault(item.group, place) if item.group else place
    return ranks


def _place(known: list[_Known], index: int, length: float) -> tuple[float, float]:
    """When a row is: its own time, or for something not done when the next thing was done."""
    one = known[index]
    if one.start is not None and one.end is not None:
        return one.start, one.end
    later = (k for k in known[index + 1 :] if k.start is not None and _follows(k.row, one.row))
    found = next(later, None)
    moment = length if found is None or found.start is None else found.start
    return moment, moment


def _follows(later: Row, skipped: Row) -> bool:
    """Whether a row done later shows that something before it was not done.

    For an item or a cue that is the next step. A level only shows by the next level of its
    series, or by a step of another phase.
    """
    if skipped.kind == "callout":
        is_level = later.kind == "callout" and later.item == skipped.item
        return is_level or (later.kind in ("item", "cue") and later.phase != skipped.phase)
    return later.kind in ("item", "cue")


def _event(one: _Known, times: tuple[float, float]) -> Event:
    row = one.row
    return Event(
        start=times[0],
        end=times[1],
        kind=row.kind,
        phase=row.phase,
        item=row.item,
        position=row.position,
        status=row.status,
        flags=one.flags,
        heard=one.heard,
        value=row.value,
        unit=row.unit,
        note=row.note,
    )
