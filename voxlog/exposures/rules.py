"""The record of each person, in order of time, and what breaks the rules of the site. Pure.

A rule counts the exposures of its positions from its level on. An interval is from the end of one
that counts to the beginning of the next; a week is any 168 hours, up to the beginning of an
exposure. What is broken is stated; what follows from it is for people to decide.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from voxlog.exposures.exposure import Exposure
from voxlog.sheet.site_rule import ExposureRule

__all__ = ["WEEK", "Breach", "Entry", "Person", "record_of"]

WEEK = timedelta(hours=168)


@dataclass(frozen=True, slots=True)
class Breach:
    """A rule and how an exposure breaks it, in words: "11.5 h after the last, 24 h asked for"."""

    rule: ExposureRule
    words: str


@dataclass(frozen=True, slots=True)
class Entry:
    """An exposure, the time since the last one of the same person, and the rules that it breaks.

    since_last: from the end of the one before; None for the first, and where a time is not known.
    """

    exposure: Exposure
    since_last: timedelta | None
    breaches: tuple[Breach, ...]


@dataclass(frozen=True, slots=True)
class Person:
    """All exposures of one code, in order of time; those without a time come last, unchecked."""

    code: str
    entries: tuple[Entry, ...]


def record_of(
    exposures: Iterable[Exposure], rules: Sequence[ExposureRule] = ()
) -> tuple[Person, ...]:
    """The record by code, in order of codes."""
    by_code: dict[str, list[Exposure]] = {}
    for exposure in exposures:
        by_code.setdefault(exposure.code, []).append(exposure)
    return tuple(
        Person(code, tuple(_entries(sorted(by_code[code], key=_order), rules)))
        for code in sorted(by_code)
    )


def _order(exposure: Exposure) -> tuple[datetime, str]:
    return exposure.began or datetime.max.replace(tzinfo=UTC), exposure.run


def _entries(exposures: Sequence[Exposure], rules: Sequence[ExposureRule]) -> Iterator[Entry]:
    for place, exposure in enumerate(exposures):
        before = exposures[:place]
        broken = (breach for rule in rules for breach in _breaches(rule, exposure, before))
        yield Entry(exposure, _since_last(exposure, before), tuple(broken))


def _since_last(exposure: Exposure, before: Sequence[Exposure]) -> timedelta | None:
    """From the latest end: recordings may overlap."""
    ends = [each.ended for each in before if each.ended is not None]
    return None if exposure.began is None or not ends else exposure.began - max(ends)


def _breaches(
    rule: ExposureRule, exposure: Exposure, before: Sequence[Exposure]
) -> Iterator[Breach]:
    if exposure.began is None or not _counts(rule, exposure):
        return
    counted = [each for each in before if _counts(rule, each)]
    since = _since_last(exposure, counted)
    if rule.min_interval_h is not None and since is not None:
        hours = since / timedelta(hours=1)
        if hours < rule.min_interval_h:
            words = f"{_hours(hours)} h after the last, {rule.min_interval_h:g} h asked for"
            yield Breach(rule, words)
    if rule.max_a_week is not None:
        begins = [each.began for each in counted if each.began is not None]
        count = 1 + sum(began > exposure.began - WEEK for began in begins)
        if count > rule.max_a_week:
            yield Breach(rule, f"{count} in 7 days, {rule.max_a_week} at most")


def _counts(rule: ExposureRule, exposure: Exposure) -> bool:
    if rule.positions and exposure.role not in rule.positions:
        return False
    if rule.at_least is None:
        return True
    return exposure.unit == rule.unit and exposure.level >= rule.at_least


def _hours(hours: float) -> str:
    """Cut, not rounded: 23.96 h is not 24.0."""
    return f"{int(hours * 10) / 10:.1f}"
