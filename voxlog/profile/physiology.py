"""What the medical officer would otherwise work out by hand from a run's log, with its cautions.

    profile = altitude_profile(sheet, events)
    facts = physiology(sheet, events, profile)

Aids to a person's judgement. Whoever shows a figure of this shows `facts.cautions` beside it.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from voxlog.follow.event import Event
from voxlog.profile.ambient import ambient_pressure, is_altitude, is_depth
from voxlog.profile.atmosphere import METRES_PER_FOOT
from voxlog.profile.consciousness import PublishedTime, published_near
from voxlog.profile.duration import TimeAbove, time_above
from voxlog.profile.estimate import Profile, Stay
from voxlog.profile.gas import Breathing, PreBreathe, breathing, pre_breathe
from voxlog.profile.pressure import Pressure
from voxlog.profile.rapid import ideal_decompression_s
from voxlog.profile.rate import LegRate, leg_rates
from voxlog.profile.station import is_done
from voxlog.profile.tension import (
    AIR_FIO2,
    OXYGEN_FIO2,
    PACO2_MMHG,
    alveolar_po2_mmhg,
    inspired_po2_mmhg,
)
from voxlog.sheet.model import Cue, Decompression, Sheet

__all__ = [
    "AtLevel",
    "Dropped",
    "OffOxygen",
    "Physiology",
    "Tension",
    "level_facts",
    "physiology",
    "tension",
]

_AIDS = (
    "Aids to a person's judgement: they neither say go on nor stop, and nothing here predicts "
    "decompression sickness."
)
_LEVELS = (
    "Levels between calls are estimates; the range beside a figure is meant to hold 19 times in "
    "20, and calls heard wrong are outside it."
)
_ATMOSPHERE = (
    "Pressures are the standard atmosphere's at the level called, not measured in the chamber."
)
_DEPTH = "Pressures are the depth called on top of 1013.25 hPa, not measured in the chamber."
_TENSIONS = (
    "Oxygen tensions are formulas with a carbon dioxide tension of 40 mmHg and R 0.8. At altitude "
    "people breathe more, so a subject's own differ; none is given where the formula leaves less "
    "oxygen than carbon dioxide."
)
_CONSCIOUSNESS = (
    "Published times of useful consciousness are averages that disagree with each other and vary "
    "widely from person to person; they are no limits."
)
_IDEAL = (
    "The ideal time of a decompression is for a valve open all at once, an effective area and one "
    "temperature (Fliegner's equation while the flow is choked, Saint-Venant and Wantzel's below); "
    "real ones take longer, and a call comes after the moment."
)


@dataclass(frozen=True, slots=True)
class Tension:
    """Oxygen tensions in mmHg; alveolar is None where the formula means nothing."""

    inspired: float | None
    alveolar: float | None


@dataclass(frozen=True, slots=True)
class AtLevel:
    """Pressure and oxygen tensions at a level of the run, and the stay there, if it was kept."""

    level: float
    pressure: Pressure
    air: Tension
    oxygen: Tension
    stay: Stay | None = None


@dataclass(frozen=True, slots=True)
class OffOxygen:
    """A stretch on air at a level that was kept, with what is published for that altitude."""

    level: float
    since: float
    until: float
    published: tuple[PublishedTime, ...]


@dataclass(frozen=True, slots=True)
class Dropped:
    """A rapid decompression. cue_at: the go word, seconds; before, to: levels.

    called_after: seconds from the go word to the beginning of the call of the level; None if that
    was not heard. ideal_s: None without a volume and an orifice on the sheet, or pressures that do
    not fall.
    """

    cue: str
    cue_at: float
    before: float | None
    to: float
    called_after: float | None
    ideal_s: float | None
    published: tuple[PublishedTime, ...]


@dataclass(frozen=True, slots=True)
class Physiology:
    """All of it. gas, pre_breathe: None where the sheet marks no step with `gas`, or none applies.

    cautions: sentences that belong beside the figures, only those that concern what is here.
    """

    levels: tuple[AtLevel, ...]
    rates: tuple[LegRate, ...]
    above: tuple[TimeAbove, ...]
    gas: Breathing | None
    pre_breathe: PreBreathe | None
    off_oxygen: tuple[OffOxygen, ...]
    decompressions: tuple[Dropped, ...]
    cautions: tuple[str, ...]


def physiology(sheet: Sheet, events: Iterable[Event], profile: Profile) -> Physiology:
    """The summary of a run. Nothing raises: what cannot be worked out is left out."""
    rows = sorted(events, key=lambda row: row.start)
    breathed = breathing(sheet, rows)
    levels = tuple(_levels(profile))
    drops = tuple(_drops(sheet, rows, profile))
    air = tuple(_off_oxygen(profile, breathed)) if breathed and is_altitude(profile.unit) else ()
    return Physiology(
        levels=levels,
        rates=leg_rates(sheet, profile),
        above=tuple(time_above(profile, level) for level in _marks(sheet, profile)),
        gas=breathed,
        pre_breathe=pre_breathe(profile, breathed) if breathed else None,
        off_oxygen=air,
        decompressions=drops,
        cautions=tuple(_cautions(profile, levels, air, drops)),
    )


def tension(pressure: Pressure, fio2: float) -> Tension:
    """Tensions to be shown: without an alveolar one where the formula leaves less than its PACO2.

    There a person would breathe more, and PACO2 be less than what was assumed.
    """
    try:
        inspired = inspired_po2_mmhg(pressure, fio2)
    except ValueError:
        return Tension(None, None)
    try:
        alveolar = alveolar_po2_mmhg(pressure, fio2)
    except ValueError:
        return Tension(inspired, None)
    return Tension(inspired, alveolar if alveolar >= PACO2_MMHG else None)


def level_facts(level: float, unit: str, stay: Stay | None = None) -> AtLevel | None:
    """Pressure and tensions at a level; None for a unit or level without a pressure."""
    pressure = ambient_pressure(level, unit)
    if pressure is None:
        return None
    return AtLevel(
        level, pressure, tension(pressure, AIR_FIO2), tension(pressure, OXYGEN_FIO2), stay
    )


def _levels(profile: Profile) -> Iterator[AtLevel]:
    for stay in profile.stays:
        facts = level_facts(stay.level, profile.unit, stay)
        if facts is not None:
            yield facts


def _marks(sheet: Sheet, profile: Profile) -> list[float]:
    """The levels of the sheet, above its lowest, that the run may have reached; highest first."""
    if not profile.points:
        return []
    highest = max(point.level for point in profile.points)
    called = {
        level
        for phase in sheet.phases
        for callout in phase.callouts
        if callout.unit == profile.unit
        for level in callout.levels
    }
    kept = {phase.level for phase in sheet.phases if phase.level is not None}
    return sorted((each for each in called | kept if 0 < each <= highest), reverse=True)


def _feet(level: float, unit: str) -> float:
    return level * {"ft": 1.0, "m": 1 / METRES_PER_FOOT, "km": 1000 / METRES_PER_FOOT}[unit]


def _off_oxygen(profile: Profile, breathed: Breathing) -> Iterator[OffOxygen]:
    """Stretches on air after oxygen was first breathed, at levels of which times are published."""
    for stay in profile.stays:
        published = published_near(_feet(stay.level, profile.unit), after_decompression=False)
        for span in breathed.spans if published else ():
            since, until = max(span.since, stay.since), min(span.until, stay.until)
            if span.gas == "air" and until > since:
                yield OffOxygen(stay.level, since, until, published)


def _drops(sheet: Sheet, rows: Sequence[Event], profile: Profile) -> Iterator[Dropped]:
    wanted = {
        step.id: step.decompression
        for _, step in sheet.steps
        if isinstance(step, Cue) and step.decompression is not None
    }
    for row in rows:
        if row.kind == "cue" and row.item in wanted and is_done(row):
            yield _dropped(row, wanted[row.item], rows, profile)


def _dropped(row: Event, drop: Decompression, rows: Sequence[Event], profile: Profile) -> Dropped:
    point = profile.at(row.start)
    before = None if point is None else point.level
    call = next(
        (
            one.start - row.start
            for one in rows
            if one.kind == "callout" and one.value == drop.to and one.start >= row.start
        ),
        None,
    )
    is_high = is_altitude(profile.unit)
    return Dropped(
        cue=row.item,
        cue_at=row.start,
        before=before,
        to=drop.to,
        called_after=call,
        ideal_s=_ideal_s(before, drop, profile.unit),
        published=published_near(_feet(drop.to, profile.unit), after_decompression=True)
        if is_high
        else (),
    )


def _ideal_s(before: float | None, drop: Decompression, unit: str) -> float | None:
    if before is None or drop.volume_m3 is None or drop.orifice_m2 is None:
        return None
    inside, outside = ambient_pressure(before, unit), ambient_pressure(drop.to, unit)
    if inside is None or outside is None or inside.pa <= outside.pa:
        return None
    return ideal_decompression_s(drop.volume_m3, drop.orifice_m2, inside, outside)


def _cautions(
    profile: Profile,
    levels: Sequence[AtLevel],
    air: Sequence[OffOxygen],
    drops: Sequence[Dropped],
) -> Iterator[str]:
    yield _AIDS
    if profile.points:
        yield _LEVELS
    if levels:
        yield _DEPTH if is_depth(profile.unit) else _ATMOSPHERE
        yield _TENSIONS
    if air or any(drop.published for drop in drops):
        yield _CONSCIOUSNESS
    if any(drop.ideal_s is not None for drop in drops):
        yield _IDEAL
