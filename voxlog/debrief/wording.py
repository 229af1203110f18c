"""What the rows of a log are called on the page, and what the sheet wanted of each."""

from datetime import timedelta

from voxlog.debrief.run import Run
from voxlog.follow.event import Event
from voxlog.log.record import seconds_to_ms
from voxlog.log.table import format_utc
from voxlog.report.words import format_percent, format_value
from voxlog.sheet.model import Callout, Cue, Elapsed, Item, Reading, Sheet, ValueSpec

__all__ = [
    "name_of",
    "position_title",
    "probability",
    "quoted",
    "spoken_limits",
    "utc_of",
    "wanted_of",
]


def name_of(sheet: Sheet, event: Event) -> str:
    """The item with its number; a callout or a reading with its value, which tells it apart."""
    if event.kind == "item":
        item = _item(sheet, event.item)
        return f"item {event.item} {item.ask[0]}" if item else f"item {event.item}"
    if event.kind in ("callout", "reading") and event.value is not None:
        return f"{event.item} {format_value(event.value, event.unit)}"
    if event.kind == "cue":
        return f"cue {event.item}"
    return event.item or event.kind


def position_title(sheet: Sheet, position: str) -> str:
    """The title of a position of the sheet; the id itself where the sheet has none."""
    return sheet.positions.get(position, position)


def wanted_of(sheet: Sheet, event: Event) -> str:
    """What the sheet asks for at this row; "" where it asks for nothing (a hold)."""
    step = _step(sheet, event)
    if isinstance(step, Item):
        return _wanted_answer(sheet, step)
    if isinstance(step, Callout):
        return _wanted_call(sheet, step, event)
    if isinstance(step, Elapsed):
        return f"every {step.every:g} s after {step.cue}, within {step.tolerance:g} s of it"
    if isinstance(step, Reading):
        return spoken_limits(step)
    if isinstance(step, Cue):
        words = (*step.say[:1], *step.count, step.go[0])
        return f"“{' '.join(words)}”"
    return ""


def probability(p: float) -> str:
    """Whole percent, never 100: the log keeps p in thousandths, so a 1 in it was rounded up."""
    return format_percent(min(p, 0.999))


def quoted(texts: tuple[str, ...], most: int = 3) -> str:
    """Wordings for people: “closed” or “shut”."""
    return " or ".join(f"“{text}”" for text in texts[:most])


def spoken_limits(part: ValueSpec | Reading) -> str:
    """The limits of a value in words; "any value" for one without limits."""
    low = None if part.min is None else format_value(part.min, "")
    high = None if part.max is None else format_value(part.max, "")
    if low is not None and high is not None:
        return f"{low} to {high} {part.unit}"
    if low is not None:
        return f"at least {low} {part.unit}"
    if high is not None:
        return f"at most {high} {part.unit}"
    return f"any value in {part.unit}"


def utc_of(run: Run, seconds: float) -> str:
    """The moment as 09:30:05 UTC, cut to the second; "" where the start is not known."""
    if run.start is None:
        return ""
    ms = seconds_to_ms(seconds)
    drift = timedelta(microseconds=ms * run.drift_ppb // 1_000_000)
    return format_utc(run.start + drift, ms)[11:19]


def _wanted_answer(sheet: Sheet, item: Item) -> str:
    answer = spoken_limits(item.value) if item.value else quoted(item.confirm)
    by = position_title(sheet, item.by)
    within = f"within {sheet.seconds_to_answer(item):g}\u00a0s"
    return f"{answer or 'an affirmative answer'}, by {by}, {within}"


def _wanted_call(sheet: Sheet, callout: Callout, event: Event) -> str:
    level = format_value(event.value, event.unit) if event.value is not None else "a level"
    if callout.read_back is None:
        return f"{level}, by {position_title(sheet, callout.by)}"
    within = callout.within or sheet.within
    back = position_title(sheet, callout.read_back)
    return f"{level}, read back by {back} within {within:g}\u00a0s"


def _item(sheet: Sheet, key: str) -> Item | None:
    return next((item for item in sheet.items if item.key == key), None)


def _step(sheet: Sheet, event: Event) -> Item | Cue | Callout | Elapsed | Reading | None:
    """The part of the sheet behind a row; that of the row's own phase before another's."""
    if event.kind == "item":
        return _item(sheet, event.item)
    own = [phase for phase in sheet.phases if phase.id == event.phase]
    for phase in (*own, *sheet.phases):
        parts: tuple[Callout | Elapsed | Reading, ...] = (
            *phase.callouts,
            *phase.elapsed,
            *phase.readings,
            *sheet.readings,
        )
        for part in parts:
            if part.id == event.item and event.kind in ("callout", "reading"):
                return part
    cues = [step for _, step in sheet.steps if isinstance(step, Cue) and step.id == event.item]
    return cues[0] if cues and event.kind == "cue" else None
