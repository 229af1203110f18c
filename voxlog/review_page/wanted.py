"""What the sheet wanted of a row, as short lines of a heading and a text."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from voxlog.follow.event import Event
from voxlog.report.words import format_value
from voxlog.review_page.names import part_of, position_title
from voxlog.sheet.model import Sheet
from voxlog.sheet.parts import Callout, Cue, Elapsed, Item, Reading, ValueSpec

__all__ = ["Wanted", "limits_in_words", "wanted"]

SHOWN_WORDINGS = 4


class Wanted(NamedTuple):
    """One line: what it is about ("Answer"), and the text."""

    term: str
    text: str


def wanted(sheet: Sheet, event: Event) -> tuple[Wanted, ...]:
    """What a person compares with what was heard; nothing for a note, which nobody expected."""
    part = part_of(sheet, event.kind, event.item, event.phase)
    if isinstance(part, Item):
        return tuple(_item(sheet, part))
    if isinstance(part, Cue):
        return tuple(_cue(sheet, part))
    if isinstance(part, Callout):
        return tuple(_callout(sheet, part))
    if isinstance(part, Elapsed):
        return tuple(_elapsed(sheet, part))
    if isinstance(part, Reading):
        return tuple(_reading(sheet, part))
    words = {"hold": sheet.hold, "resume": sheet.resume}.get(event.kind, ())
    return (Wanted("Words", _wordings(words)),) if words else ()


def limits_in_words(part: ValueSpec | Reading) -> str:
    """As in "1,600 to 2,200 psi", "75 % or more"; "no limits" where there are none."""
    if part.min is not None and part.max is not None:
        return f"{format_value(part.min, '')} to {format_value(part.max, part.unit)}"
    if part.min is not None:
        return f"{format_value(part.min, part.unit)} or more"
    if part.max is not None:
        return f"{format_value(part.max, part.unit)} or less"
    return "no limits"


def _item(sheet: Sheet, item: Item) -> Iterator[Wanted]:
    yield Wanted("Challenge", _wordings(item.ask))
    if item.value is not None:
        yield Wanted("Value", limits_in_words(item.value))
    if item.confirm:
        yield Wanted("Answer", _wordings(item.confirm))
    if item.deny:
        yield Wanted("Denial", _wordings(item.deny))
    who = [position_title(sheet, position) for position in (item.by, *item.stand_in)]
    seconds = format_value(sheet.seconds_to_answer(item), "s")
    yield Wanted("By", f"{', or '.join(who)}, within {seconds}")
    if item.group:
        others = [one.key for one in sheet.items if one.group == item.group and one != item]
        yield Wanted("Order", f"any, among items {', '.join(others)}" if others else "any")
    if not item.mandatory:
        yield Wanted("Optional", "may be left out")


def _cue(sheet: Sheet, cue: Cue) -> Iterator[Wanted]:
    words = [*cue.say[:1], *cue.count, cue.go[0]]
    yield Wanted("Words", _quoted(", ".join(words)))
    yield Wanted("By", position_title(sheet, cue.by))


def _callout(sheet: Sheet, callout: Callout) -> Iterator[Wanted]:
    yield Wanted("Call", _wordings(callout.say))
    levels = [format_value(level, "") for level in callout.levels]
    yield Wanted("At", f"{', '.join(levels)} {callout.unit}")
    yield Wanted("By", position_title(sheet, callout.by))
    if callout.read_back:
        within = f", within {format_value(callout.within, 's')}" if callout.within else ""
        yield Wanted("Read back by", f"{position_title(sheet, callout.read_back)}{within}")


def _elapsed(sheet: Sheet, elapsed: Elapsed) -> Iterator[Wanted]:
    yield Wanted("Call", _wordings(elapsed.say))
    every, until, tolerance = (
        format_value(seconds, "s") for seconds in (elapsed.every, elapsed.until, elapsed.tolerance)
    )
    yield Wanted("At", f"every {every} after {elapsed.cue}, until {until}; {tolerance} off is late")
    yield Wanted("By", position_title(sheet, elapsed.by))


def _reading(sheet: Sheet, reading: Reading) -> Iterator[Wanted]:
    yield Wanted("Words", _wordings(reading.say))
    yield Wanted("Value", limits_in_words(reading))
    yield Wanted("By", position_title(sheet, reading.by))


def _wordings(texts: Sequence[str]) -> str:
    shown = ", ".join(map(_quoted, texts[:SHOWN_WORDINGS]))
    more = len(texts) - SHOWN_WORDINGS
    return f"{shown} and {more} more" if more > 0 else shown


def _quoted(text: str) -> str:
    return f"“{text.replace('{value}', '…').replace('{item}', '…')}”"
