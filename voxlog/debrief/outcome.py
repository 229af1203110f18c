"""The outcome of a run in three lines."""

from collections import Counter
from collections.abc import Sequence

from voxlog.debrief.altitude import Altitude
from voxlog.debrief.findings import Finding
from voxlog.debrief.holds import Hold
from voxlog.debrief.run import Run
from voxlog.follow.event import Event, Status
from voxlog.profile.ambient import is_depth
from voxlog.report.words import format_clock, format_value

__all__ = ["outcome_lines"]

_WORDS: dict[Status, str] = {
    "negative": "answered negative",
    "unconfirmed": "not confirmed",
    "skipped": "skipped, not heard",
}


def outcome_lines(
    run: Run, findings: Sequence[Finding], altitude: Altitude | None, holds: Sequence[Hold]
) -> tuple[str, str, str]:
    """Checks, findings, course of the run; each a sentence or two."""
    return _checks(run), _findings(findings), _course(run, altitude, holds)


def _checks(run: Run) -> str:
    """Items by the last row of each, as it stands after the review."""
    last = {
        event.item: event
        for event in (run.row_now(n) for n in range(1, len(run.events) + 1))
        if event.kind == "item"
    }
    count = Counter(event.status for event in last.values())
    others = [f"{count[status]} {words}" for status, words in _WORDS.items() if count[status]]
    rest = f"; {', '.join(others)}" if others else ""
    return f"{count['confirmed']} of {_many(len(run.sheet.items), 'item')} confirmed{rest}."


def _findings(findings: Sequence[Finding]) -> str:
    if not findings:
        return "No findings in what was heard."
    open_ones = [one for one in findings if not one.is_decided]
    decided = len(findings) - len(open_ones)
    if not open_ones:
        return f"{_many(len(findings), 'finding')}, all of them decided."
    first = open_ones[0]
    done = f", {decided} decided" if decided else ""
    return (
        f"{_many(len(findings), 'finding')}{done}, {len(open_ones)} to decide. "
        f"First: {first.name}, {first.words}, at {first.clock}."
    )


def _course(run: Run, altitude: Altitude | None, holds: Sequence[Hold]) -> str:
    parts = [f"Recorded {format_clock(run.seconds)} (min:s)"]
    called = _called(run, altitude)
    if altitude and called:
        top = max(called, key=lambda event: event.value or 0)
        level = format_value(top.value or 0, altitude.unit)
        most = "deepest" if is_depth(altitude.unit) else "highest"
        parts.append(f"{most} level called {level} at {format_clock(top.start)}")
    if holds:
        held = sum((hold.end or run.seconds) - hold.start for hold in holds)
        parts.append(f"{_many(len(holds), 'hold')}, {format_clock(held)} in all")
    else:
        parts.append("no hold heard")
    return "; ".join(parts) + "."


def _called(run: Run, altitude: Altitude | None) -> list[Event]:
    rows = [run.row_now(n) for n in altitude.calls] if altitude else []
    return [row for row in rows if row.status != "skipped" and row.value is not None]


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
