"""Levels that were due on the way and that nobody called."""

from collections.abc import Mapping, Sequence

from voxlog.follow.event import Event
from voxlog.sheet.model import Callout, Sheet

__all__ = ["missed_levels"]


def missed_levels(
    sheet: Sheet, called: Sequence[Event], phase_starts: Mapping[str, float], end: float
) -> list[Event]:
    """A row for each level of a series that was passed over.

    A level shows to be missing by the next level of its series, or by the start of a later phase.
    phase_starts: when the first step of each phase that was reached began. end: the recording's.
    """
    events: list[Event] = []
    for place, phase in enumerate(sheet.phases):
        later = [phase_starts[p.id] for p in sheet.phases[place + 1 :] if p.id in phase_starts]
        reached = phase.id in phase_starts or bool(later)
        over = min(later, default=end)
        for callout in phase.callouts if reached else ():
            heard = {
                event.value: event.start
                for event in called
                if event.phase == phase.id and event.item == callout.id
            }
            events += _missed(callout, phase.id, heard, over)
    return events


def _missed(
    callout: Callout, phase: str, heard: Mapping[float | None, float], over: float
) -> list[Event]:
    events = []
    for place, level in enumerate(callout.levels):
        if level in heard:
            continue
        next_called = [heard[later] for later in callout.levels[place + 1 :] if later in heard]
        moment = min([*next_called, over])
        events.append(
            Event(
                start=moment,
                end=moment,
                kind="callout",
                phase=phase,
                item=callout.id,
                position=callout.by,
                status="skipped",
                value=level,
                unit=callout.unit,
                p=0.8,
            )
        )
    return events
