"""What a row and its parts are called on the page, in the words of the sheet."""

from voxlog.follow.event import Event, Kind
from voxlog.report.words import format_value
from voxlog.sheet.model import Sheet
from voxlog.sheet.parts import Callout, Cue, Elapsed, Item, Reading

__all__ = ["Part", "part_of", "phase_title", "position_title", "row_name"]

Part = Item | Cue | Callout | Elapsed | Reading


def part_of(sheet: Sheet, kind: Kind, item: str, phase: str) -> Part | None:
    """The part of the sheet that a row is about; None for notes, holds, and what it lacks.

    phase: where to look first, since two phases may have callouts or readings of one id.
    """
    if kind == "item":
        return next((one for one in sheet.items if one.key == item), None)
    if kind == "cue":
        cues = (step for _, step in sheet.steps if isinstance(step, Cue))
        return next((cue for cue in cues if cue.id == item), None)
    phases = sorted(sheet.phases, key=lambda one: one.id != phase)
    if kind == "callout":
        calls: list[Callout | Elapsed] = []
        for one in phases:
            calls += (*one.callouts, *one.elapsed)
        return next((call for call in calls if call.id == item), None)
    if kind == "reading":
        readings = (*(reading for one in phases for reading in one.readings), *sheet.readings)
        return next((reading for reading in readings if reading.id == item), None)
    return None


def row_name(sheet: Sheet, event: Event) -> str:
    """As in "7 helmet and visor", "climb 10,000 ft", "masks-off", "hold", "note"."""
    if event.kind == "item":
        part = part_of(sheet, "item", event.item, event.phase)
        return f"{event.item} {part.ask[0]}" if isinstance(part, Item) else f"item {event.item}"
    name = event.item or event.kind
    if event.kind in ("callout", "reading") and event.value is not None:
        return f"{name} {format_value(event.value, event.unit)}"
    return name


def phase_title(sheet: Sheet, phase: str) -> str:
    return next((one.title for one in sheet.phases if one.id == phase), phase)


def position_title(sheet: Sheet, position: str) -> str:
    return sheet.positions.get(position, position)
