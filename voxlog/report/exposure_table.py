"""The exposure record of people, by code: for the terminal, as CSV, and as JSON values."""

import csv
import io
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from voxlog.exposures.rules import Entry, Person
from voxlog.log.table import format_utc, inert
from voxlog.report.words import format_clock, format_value
from voxlog.sheet.site_rule import ExposureRule

__all__ = [
    "CAUTIONS",
    "EXPOSURES_FORMAT",
    "EXPOSURES_VERSION",
    "exposures_csv",
    "exposures_json",
    "print_exposures",
]

EXPOSURES_FORMAT = "voxlog-exposures"
# 1: people with their exposures, rules, cautions.
EXPOSURES_VERSION = 1

CAUTIONS = (
    "Only the runs named here are counted, and a run without codes is nobody's; levels are "
    "estimates from calls.",
    "Rules are the site's own, with their source. What breaks one is stated; who may go on, and "
    "whether anybody is well, are for people to decide.",
)

_TABLE_WIDTH = 80
"""Characters that the table takes without the run's name."""

_COLUMNS = (
    *("code", "role", "run", "sheet", "began", "ended", "level", "unit", "at_level_s"),
    *("at_level_shortest_s", "at_level_longest_s", "away_s", "oxygen_s", "since_last_h", "breaks"),
)


def print_exposures(
    console: Console, people: Sequence[Person], rules: Sequence[ExposureRule]
) -> None:
    """A table for each code with what breaks a rule below it, then the rules and the cautions."""
    for person in people:
        console.print(Text(person.code, style="bold"))
        console.print(_person_table(person, console.width))
        for entry in person.entries:
            for breach in entry.breaches:
                words = f"! {_began(entry)} breaks {breach.rule.id}: {breach.words}"
                console.print(Text(words, style="red"))
            if entry.exposure.began is None and rules:
                words = f"? {entry.exposure.run}: its time is not known, so no rule was checked"
                console.print(Text(words, style="yellow"))
        if any(_is_remarkable(entry, rules) for entry in person.entries):
            console.print()
    for rule in rules:
        console.print(Text(f"Rule {rule.id} ({rule.source}): {_rule(rule)}."))
    for caution in CAUTIONS:
        console.print(Text(f"* {caution}"))


def _is_remarkable(entry: Entry, rules: Sequence[ExposureRule]) -> bool:
    return bool(entry.breaches) or (entry.exposure.began is None and bool(rules))


def _person_table(person: Person, width: int) -> Table:
    """The run is named where there is room for its name; CSV and JSON have it always."""
    has_room = width >= _TABLE_WIDTH + max(len(entry.exposure.run) for entry in person.entries)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("Began (UTC)", no_wrap=True)
    table.add_column("As", no_wrap=True)
    for name in ("Level", "At it", "Away", "Oxygen", "Since last"):
        table.add_column(name, justify="right", no_wrap=True)
    if has_room:
        table.add_column("Run", no_wrap=True)
    for entry in person.entries:
        cells = _cells(entry)
        table.add_row(*(cells if has_room else cells[:-1]))
    return table


def _began(entry: Entry) -> str:
    began = entry.exposure.began
    return "not known" if began is None else f"{began.astimezone(UTC):%Y-%m-%d %H:%M}"


def _cells(entry: Entry) -> tuple[str, ...]:
    one = entry.exposure
    return (
        _began(entry),
        one.role,
        format_value(round(one.level, 1), one.unit),
        format_clock(one.at_level.seconds),
        format_clock(one.away_s),
        "-" if one.oxygen_s is None else format_clock(one.oxygen_s),
        "-" if entry.since_last is None else _interval(entry.since_last),
        one.run,
    )


def _interval(since: timedelta) -> str:
    """Cut, so that nothing looks longer than it was: 23.9 h, 6 days."""
    hours = since / timedelta(hours=1)
    return f"{int(hours * 10) / 10:.1f} h" if hours < 96 else f"{int(hours / 24)} days"


def _rule(rule: ExposureRule) -> str:
    who = " or ".join(rule.positions) if rule.positions else "everybody"
    level = "" if rule.at_least is None else f" from {format_value(rule.at_least, rule.unit or '')}"
    interval = rule.min_interval_h and f"at least {rule.min_interval_h:g} h between two"
    week = rule.max_a_week and f"at most {rule.max_a_week} in 7 days"
    return f"{who}{level}, {' and '.join(part for part in (interval, week) if part)}"


def exposures_csv(people: Sequence[Person]) -> str:
    """One row an exposure; times as RFC 3339 in UTC, empty for what is not known."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for person in people:
        for entry in person.entries:
            record = _record(entry)
            record["breaks"] = "; ".join(
                f"{each['rule']}: {each['how']}" for each in record["breaks"]
            )
            cells = ("" if record[name] is None else record[name] for name in _COLUMNS)
            writer.writerow([inert(each) if isinstance(each, str) else each for each in cells])
    return buffer.getvalue()


def exposures_json(people: Sequence[Person], rules: Sequence[ExposureRule]) -> dict[str, Any]:
    """Seconds to the millisecond, hours to the thousandth; null for what is not known."""
    return {
        "format": EXPOSURES_FORMAT,
        "version": EXPOSURES_VERSION,
        "people": [
            {"code": person.code, "exposures": [_record(entry) for entry in person.entries]}
            for person in people
        ],
        "rules": [rule.model_dump(by_alias=True, exclude_none=True) for rule in rules],
        "cautions": list(CAUTIONS),
    }


def _record(entry: Entry) -> dict[str, Any]:
    one, since = entry.exposure, entry.since_last
    return {
        "code": one.code,
        "role": one.role,
        "run": one.run,
        "sheet": one.sheet,
        "began": _utc(one.began),
        "ended": _utc(one.ended),
        "level": round(one.level, 1),
        "unit": one.unit,
        "at_level_s": round(one.at_level.seconds, 3),
        "at_level_shortest_s": round(one.at_level.shortest, 3),
        "at_level_longest_s": round(one.at_level.longest, 3),
        "away_s": round(one.away_s, 3),
        "oxygen_s": None if one.oxygen_s is None else round(one.oxygen_s, 3),
        "since_last_h": None if since is None else round(since / timedelta(hours=1), 3),
        "breaks": [{"rule": breach.rule.id, "how": breach.words} for breach in entry.breaches],
    }


def _utc(moment: datetime | None) -> str | None:
    return None if moment is None else format_utc(moment, 0)
