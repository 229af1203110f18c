"""One person's exposure in one run: the level, how long, on which gas. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from voxlog.follow.event import Event
from voxlog.log.people import People
from voxlog.profile.duration import TimeAbove, time_above
from voxlog.profile.estimate import Profile, altitude_profile
from voxlog.profile.gas import breathing
from voxlog.sheet.model import Sheet

__all__ = ["SUBJECT", "Exposure", "exposures_of"]

SUBJECT = "subject"
"""The role of subjects, whatever the sheet calls their position."""


@dataclass(frozen=True, slots=True)
class Exposure:
    """One person in one run that left its first level.

    role: SUBJECT, or the position of an inside crew member. began, ended: when the chamber left its
    first level and came back to it (or the log ended), with their zone; None where nobody knows
    when the run was. level: the highest or deepest estimated, in unit. at_level: time at or beyond
    it. away_s: from began to ended. oxygen_s: subjects only, None where the sheet does not say.
    """

    code: str
    role: str
    run: str
    sheet: str
    began: datetime | None
    ended: datetime | None
    level: float
    unit: str
    at_level: TimeAbove
    away_s: float
    oxygen_s: float | None


def exposures_of(
    run: str, sheet: Sheet, events: Sequence[Event], people: People, start: datetime | None
) -> tuple[Exposure, ...]:
    """The exposures of a run: its subjects', and of crew whose position the sheet has inside.

    run: its name. events: the rows that count. start: of the recording, with its zone. Empty for a
    run that never left its first level.
    """
    profile = altitude_profile(sheet, events)
    if not profile.legs:
        return ()
    level = max(point.level for point in profile.points)
    left, back = profile.legs[0].left, _back(profile, events)
    breathed = breathing(sheet, events)
    oxygen_s = None if breathed is None else breathed.oxygen_s
    return tuple(
        Exposure(
            code=code,
            role=role,
            run=run,
            sheet=sheet.id,
            began=_moment(start, left),
            ended=_moment(start, back),
            level=level,
            unit=profile.unit,
            at_level=time_above(profile, level),
            away_s=back - left,
            oxygen_s=oxygen_s if role == SUBJECT else None,
        )
        for code, role in _exposed(sheet, people)
    )


def _exposed(sheet: Sheet, people: People) -> list[tuple[str, str]]:
    crew = people.crew.items()
    inside = [(code, position) for position, code in crew if position in sheet.inside]
    return list(dict.fromkeys([*((code, SUBJECT) for code in people.subjects), *inside]))


def _back(profile: Profile, events: Sequence[Event]) -> float:
    """When the chamber was back at its first level for good; else the end of the log."""
    last = profile.legs[-1]
    is_back = last.to == profile.legs[0].level
    return last.reached if is_back else max(row.end for row in events)


def _moment(start: datetime | None, seconds: float) -> datetime | None:
    return None if start is None else start + timedelta(seconds=seconds)
