"""The summary on the terminal: how each phase went, then what a person must look at, worst first.

Order of the findings: answered negative, read back wrong or outside limits; skipped; not confirmed
or not read back; out of order; late; optional items not heard; unsure. Within one of these the
more probable first, then the earlier. A row with several findings stands once, at its worst.

Everything that colour says, a mark and words say too. Text goes in as Text, never as markup: an
id or a title may hold square brackets.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from voxlog.follow.event import STATUSES, Event
from voxlog.log.finding import findings_of
from voxlog.report.words import (
    describe_findings,
    format_clock,
    format_percent,
    format_value,
    severity,
)

__all__ = ["CAUTION", "SheetNames", "print_summary", "sort_findings"]

CAUTION = (
    "A record aid, not a medical device and not an alarm: the crew's own procedures, local codes "
    "and licensed practice come first."
)


@dataclass(frozen=True, slots=True)
class SheetNames:
    """What the summary needs of the sheet.

    phases: title by id, in the order of the sheet.
    names: what to call an item (by number) or a callout, reading or cue (by id).
    optional: numbers of the items that are not mandatory.
    """

    title: str
    phases: Mapping[str, str]
    names: Mapping[str, str]
    optional: Collection[str] = frozenset()


def print_summary(
    console: Console, sheet: SheetNames, events: Sequence[Event], warnings: Iterable[str] = ()
) -> None:
    """Title, warnings, phases, findings, caution; made for 80 columns and more."""
    console.print(Text(sheet.title, style="bold"))
    for warning in warnings:
        console.print(Text(f"Warning: {warning}", style="yellow"))
    console.print(_phase_table(sheet, events))
    findings = sort_findings(events, sheet.optional)
    if findings:
        console.print(_finding_table(sheet, findings))
    else:
        console.print(Text("No findings in what was heard.\n"))
    console.print(Text(CAUTION, style="italic"))


def sort_findings(events: Iterable[Event], optional: Collection[str] = ()) -> list[Event]:
    """The rows with findings, in the order the module's text gives."""

    def place(event: Event) -> tuple[int, float, float]:
        worst = severity(event, is_optional=_is_optional(event, optional))
        assert worst is not None
        return worst.order, -event.p, event.start

    return sorted((event for event in events if findings_of(event)), key=place)


def _is_optional(event: Event, optional: Collection[str]) -> bool:
    return event.kind == "item" and event.item in optional


def _phase_table(sheet: SheetNames, events: Sequence[Event]) -> Table:
    """Items by their final status; findings of every row of the phase, one for a row."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("Phase", ratio=1)
    for heading in ("Items", *(status.capitalize() for status in STATUSES), "Findings"):
        table.add_column(heading, justify="right", no_wrap=True)
    final = {event.item: event for event in events if event.kind == "item"}
    unknown = {event.phase: event.phase for event in events if event.phase not in sheet.phases}
    for phase, title in {**sheet.phases, **unknown}.items():
        rows = [event for event in events if event.phase == phase]
        items = [event for event in final.values() if event.phase == phase]
        if phase in sheet.phases or any(findings_of(row) for row in rows) or items:
            table.add_row(Text(title or "(any phase)"), *_counts(items, rows))
    table.add_section()
    table.add_row(Text("All"), *_counts(final.values(), events), style="bold")
    return table


def _counts(items: Collection[Event], rows: Iterable[Event]) -> list[str]:
    by_status = [sum(item.status == status for item in items) for status in STATUSES]
    findings = sum(bool(findings_of(row)) for row in rows)
    return [str(count) for count in (len(items), *by_status, findings)]


def _finding_table(sheet: SheetNames, findings: Iterable[Event]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column("", width=2)
    table.add_column("Time", justify="right", no_wrap=True)
    table.add_column("Item", ratio=3)
    table.add_column("Finding", ratio=3)
    table.add_column("Heard", ratio=3)
    table.add_column("p", justify="right", no_wrap=True)
    for event in findings:
        is_optional = _is_optional(event, sheet.optional)
        worst = severity(event, is_optional=is_optional)
        assert worst is not None
        table.add_row(
            Text(worst.mark),
            format_clock(event.start),
            Text(_name(sheet, event)),
            Text(describe_findings(event, is_optional=is_optional)),
            Text(f'"{event.heard}"' if event.heard else "nothing"),
            format_percent(event.p),
            style=worst.style,
        )
    return table


def _name(sheet: SheetNames, event: Event) -> str:
    """The item with its number; a callout or a reading with its value, which tells it apart."""
    name = sheet.names.get(event.item, event.item) or event.kind
    if event.kind == "item":
        return f"{event.item} {name}" if name != event.item else f"item {name}"
    if event.kind in ("callout", "reading") and event.value is not None:
        return f"{name} {format_value(event.value, event.unit)}"
    return name
