"""What a display shows of the run, from the sheet and the rows so far. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from voxlog.follow.event import Event
from voxlog.live.gate import SURE, furthest, open_behind
from voxlog.live.level import last_level, stay
from voxlog.live.provisional import Added, Change, NumberedRow, Withdrawn
from voxlog.live.state import DueItem, LastCue, LastValue, LevelTime, Row, RunState
from voxlog.log.finding import findings_of
from voxlog.report.words import describe_findings, format_value
from voxlog.sheet.model import Item, Sheet, Step

__all__ = ["due_item", "row_text", "run_state", "shown"]

NOTHING = RunState()


def run_state(
    sheet: Sheet,
    events: Sequence[Event],
    now: float,
    reported: Iterable[NumberedRow] = (),
    newest: Iterable[Change] = (),
    recorder: RunState = NOTHING,
) -> RunState:
    """The state at `now`, in seconds from the start of the recording.

    events: all rows so far in order of time, also those held back (LiveFollower.judged). reported:
    the rows of the log, for the count of findings. newest: the last changes, oldest first.
    recorder: a state that has what does not come from rows: channels, recording, fault, gate,
    answer and behind_s; they are kept.
    """
    called = last_level(sheet, events)
    there = stay(sheet, events)
    return replace(
        recorder,
        title=sheet.title,
        run_s=now,
        due=due_item(sheet, events, now),
        open=open_behind(sheet, events),
        last_cue=_last_cue(events, now),
        last_altitude=None
        if called is None or called.value is None
        else LastValue(called.value, called.unit, now - called.start),
        at_level=None if there is None else LevelTime(now - there.since, there.limit),
        rows=tuple(shown(change, sheet) for change in newest),
        findings=sum(bool(findings_of(row.event)) for row in reported),
    )


def due_item(sheet: Sheet, events: Sequence[Event], now: float) -> DueItem | None:
    """The step now due; None when the last one is done.

    A step that was asked stays due until it is answered or another is begun. Then comes the first
    step behind the last one begun, within an any-order group the first not done, and after a resume
    the item that was named. A cue has no number.
    """
    steps = [row for row in events if row.kind in ("item", "cue") and _has_begun(row)]
    last = steps[-1] if steps else None
    resumed = [row for row in events if row.kind == "resume" and row.value is not None]
    if resumed and (last is None or resumed[-1].start > last.start):
        number = f"{resumed[-1].value:.0f}"
        return next((_due(one) for one in sheet.steps if one.step.key == number), None)
    if last is not None and last.status == "unconfirmed":
        asked = next(one for one in sheet.steps if one.step.key == last.item)
        return _due(asked, now - last.end)
    done = {row.item for row in steps}
    return next((_due(one) for one in _ahead(sheet, events) if one.step.key not in done), None)


def _ahead(sheet: Sheet, events: Sequence[Event]) -> Iterable[Step]:
    """Steps in the order in which they come due: the group being worked through, then the rest."""
    resumes = [row.start for row in events if row.kind == "resume"]
    # What was done before a resume does not say how far the work is now.
    place = furthest(sheet, [row for row in events if row.start >= max(resumes, default=0.0)])
    if place < 0:
        return sheet.steps
    step = sheet.steps[place].step
    group = step.group if isinstance(step, Item) else None
    before = [
        one
        for one in sheet.steps[:place]
        if group and isinstance(one.step, Item) and one.step.group == group
    ]
    return [*before, *sheet.steps[place + 1 :]]


def shown(change: Change, sheet: Sheet) -> Row:
    """A change of the log as a line of the display."""
    if isinstance(change, Added):
        word = "new"
    else:
        word = "withdrawn" if isinstance(change, Withdrawn) else "corrected"
    return Row(change.number, change.event.start, row_text(change.event, sheet), word)


def row_text(event: Event, sheet: Sheet) -> str:
    """A row in one line: what it is about, what was heard, what is the matter with it."""
    if event.kind == "note":
        return event.note or event.heard or "talk"
    if event.kind in ("hold", "resume"):
        return f"{event.kind}: {event.heard}"
    value = "" if event.value is None else f" {format_value(event.value, event.unit)}"
    said = describe_findings(event) or (event.status or "")
    return f"{_name(event, sheet)}{value}{': ' if said else ''}{said}"


def _name(event: Event, sheet: Sheet) -> str:
    if event.kind == "item":
        return f"item {event.item} {sheet.item(int(event.item)).ask[0]}"
    return f"{event.kind} {event.item}"


def _last_cue(events: Sequence[Event], now: float) -> LastCue | None:
    given = [row for row in events if row.kind == "cue" and row.status is None]
    return LastCue(given[-1].item, now - given[-1].start) if given else None


def _due(one: Step, asked_s: float | None = None) -> DueItem:
    step = one.step
    if isinstance(step, Item):
        return DueItem(step.key, step.ask[0], step.by, one.phase.title, asked_s)
    words = step.say[0] if step.say else " ".join((*step.count, step.go[0]))
    return DueItem("", words, step.by, one.phase.title, asked_s)


def _has_begun(row: Event) -> bool:
    return row.status != "skipped" and row.p >= SURE
