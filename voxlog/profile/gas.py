"""What the subject breathed when, from the steps that the sheet marks with `gas`."""

from collections.abc import Iterable
from dataclasses import dataclass

from voxlog.follow.event import Event
from voxlog.profile.estimate import Profile
from voxlog.profile.station import is_done, moment_of
from voxlog.sheet.model import Gas, Sheet

__all__ = ["Breathing", "GasSpan", "PreBreathe", "breathing", "pre_breathe"]


@dataclass(frozen=True, slots=True)
class GasSpan:
    """One gas from `since` to `until`, seconds of the recording."""

    gas: Gas
    since: float
    until: float

    @property
    def seconds(self) -> float:
        return self.until - self.since


@dataclass(frozen=True, slots=True)
class Breathing:
    """The spans in order, from the first step that names a gas to the last row of the log.

    in_doubt: rows that should have changed the gas and were not confirmed; they change nothing
    here, so the spans around them may be wrong.
    """

    spans: tuple[GasSpan, ...]
    in_doubt: tuple[Event, ...]

    @property
    def oxygen_s(self) -> float:
        """Seconds on oxygen in all."""
        return sum(span.seconds for span in self.spans if span.gas == "oxygen")


@dataclass(frozen=True, slots=True)
class PreBreathe:
    """Oxygen without a break until the chamber left its first level.

    since: when it began; left: the departure, with the earliest and latest it may have been.
    """

    since: float
    left: float
    left_between: tuple[float, float]

    @property
    def seconds(self) -> float:
        return self.left - self.since

    @property
    def seconds_between(self) -> tuple[float, float]:
        early, late = self.left_between
        return max(early - self.since, 0.0), late - self.since


def breathing(sheet: Sheet, events: Iterable[Event]) -> Breathing | None:
    """What was breathed when; None where the sheet has no step with `gas`.

    A cue counts from its go word, an item from the end of the answer that confirms it.
    """
    gases = {step.key: step.gas for _, step in sheet.steps if step.gas is not None}
    if not gases:
        return None
    rows = sorted(events, key=lambda row: row.start)
    steps = [row for row in rows if row.kind in ("item", "cue") and row.item in gases]
    changes = [(moment_of(row), gases[row.item]) for row in steps if is_done(row)]
    last = max((row.end for row in rows), default=0.0)
    in_doubt = tuple(row for row in steps if not is_done(row))
    return Breathing(tuple(_spans(changes, last)), in_doubt)


def _spans(changes: list[tuple[float, Gas]], last: float) -> list[GasSpan]:
    spans: list[GasSpan] = []
    for moment, gas in sorted(changes):
        if spans and spans[-1].gas == gas:
            continue
        if spans:
            spans[-1] = GasSpan(spans[-1].gas, spans[-1].since, moment)
        spans.append(GasSpan(gas, moment, last))
    return spans


def pre_breathe(profile: Profile, breathed: Breathing) -> PreBreathe | None:
    """The oxygen before the first departure; None without one, or if it was not on oxygen."""
    if not profile.legs:
        return None
    first = profile.legs[0]
    for span in breathed.spans:
        if span.gas == "oxygen" and span.since <= first.left <= span.until:
            return PreBreathe(span.since, first.left, first.left_between)
    return None
