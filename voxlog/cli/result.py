"""What `log` says on stdout: the summary for people, one JSON object for programs."""

import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.text import Text

from voxlog.follow.event import Event
from voxlog.log.finding import findings_of
from voxlog.log.record import seconds_to_ms, thousandths
from voxlog.log.table import format_utc
from voxlog.pipeline import RunResult
from voxlog.report.summary import SheetNames, print_summary, sort_findings
from voxlog.sheet.model import Sheet

__all__ = ["RESULT_FORMAT", "RESULT_VERSION", "print_events", "print_result", "result_json"]

RESULT_FORMAT = "voxlog-result"
# 1: folder, sheet, start, seconds, warnings, events, findings.
RESULT_VERSION = 1


def print_result(console: Console, folder: Path, result: RunResult) -> None:
    """The summary, and where the log is."""
    print_events(console, folder, result.sheet, result.events, result.warnings)


def print_events(
    console: Console,
    folder: Path,
    sheet: Sheet,
    events: Sequence[Event],
    warnings: Sequence[str] = (),
) -> None:
    """The same for events and warnings."""
    print_summary(console, _names(sheet), events, warnings)
    console.print(Text(f"Run folder: {folder}"), soft_wrap=True)


def result_json(folder: Path, result: RunResult, start: datetime | None) -> str:
    """One object; `findings` are the rows to look at, worst first, by their `n`.

    start: the moment of the recording's first sample, if anyone knows it.
    """
    events = result.events
    numbers = {id(event): n for n, event in enumerate(events, 1)}
    findings = sort_findings(events, _names(result.sheet).optional)
    return json.dumps(
        {
            "format": RESULT_FORMAT,
            "version": RESULT_VERSION,
            "folder": str(folder),
            "sheet": result.sheet.id,
            "start": None if start is None else format_utc(start, 0),
            "seconds": round(result.seconds, 3),
            "warnings": list(result.warnings),
            "events": [_row(n, event, start) for n, event in enumerate(events, 1)],
            "findings": [
                {"n": numbers[id(event)], "findings": list(findings_of(event))}
                for event in findings
            ],
        },
        ensure_ascii=False,
    )


def _row(n: int, event: Event, start: datetime | None) -> dict[str, Any]:
    """The columns of events.csv, with numbers as numbers and null for what is empty there."""
    ms = seconds_to_ms(event.start)
    value = event.value
    return {
        "n": n,
        "t": ms / 1000,
        "t_end": seconds_to_ms(event.end) / 1000,
        "utc": None if start is None else format_utc(start, ms),
        "kind": event.kind,
        "phase": event.phase,
        "item": event.item,
        "position": event.position,
        "status": event.status,
        "flags": list(event.flags),
        "heard": event.heard,
        "value": int(value) if value is not None and value.is_integer() else value,
        "unit": event.unit,
        "p": thousandths(event.p) / 1000,
        "note": event.note,
    }


def _names(sheet: Sheet) -> SheetNames:
    return SheetNames(
        title=sheet.title,
        phases={phase.id: phase.title for phase in sheet.phases},
        names={item.key: item.ask[0] for item in sheet.items},
        optional=frozenset(item.key for item in sheet.items if not item.mandatory),
    )
