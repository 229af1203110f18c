"""A run sheet as plain text for a clip board: 80 columns, pages for A4 in a monospaced font.

Each line to be ticked starts with ``[ ]``. The denials are left out: the sheet shows what should
be said. No step is cut by the end of a page, and no heading stands alone at its foot.
"""

import textwrap
from collections.abc import Iterable, Iterator
from typing import Final

from voxlog.sheet.fields import Gate
from voxlog.sheet.model import Callout, Cue, Elapsed, Item, Phase, Sheet
from voxlog.sheet.parts import AskByVoice, Decompression, Rate, Reading, ValueSpec

__all__ = ["LINES_A_PAGE", "WIDTH", "show"]

WIDTH: Final = 80
# A4 at 6 lines an inch holds 70 lines; this leaves 2 cm above and below.
LINES_A_PAGE: Final = 60

_TICK: Final = "[ ]"
# tick, number, any-order mark, challenge, who answers, answer; with one space between.
_COLUMNS: Final = (3, 4, 1, 26, 12, 29)

Block = tuple[str, ...]


def show(sheet: Sheet) -> str:
    """The sheet to print; pages are divided by form feeds."""
    pages = _pages(list(_blocks(sheet)))
    texts = []
    for number, lines in enumerate(pages, start=1):
        foot = f"{sheet.id}   page {number} of {len(pages)}"
        filler = [""] * (LINES_A_PAGE - 1 - len(lines))
        texts.append("\n".join([*lines, *filler, foot.rjust(WIDTH)]) + "\n")
    return "\f".join(texts)


def _pages(blocks: list[Block]) -> list[list[str]]:
    """Fill pages with whole blocks; a block longer than a page is cut as a last resort."""
    room = LINES_A_PAGE - 2
    pages: list[list[str]] = [[]]
    for block in blocks:
        if pages[-1] and len(pages[-1]) + len(block) > room:
            pages.append([])
        for start in range(0, len(block), room):
            piece = block[start : start + room]
            if len(pages[-1]) + len(piece) > room:
                pages.append([])
            pages[-1] += piece
    return [_without_outer_blanks(page) for page in pages]


def _without_outer_blanks(page: list[str]) -> list[str]:
    return "\n".join(page).strip("\n").split("\n")


def _blocks(sheet: Sheet) -> Iterator[Block]:
    yield tuple(_heading(sheet))
    for phase in sheet.phases:
        yield from _phase_blocks(phase, sheet)
    if sheet.readings:
        lines = [line for reading in sheet.readings for line in _reading(reading)]
        yield ("", *_underlined("At any time"), *lines)
    yield tuple(_closing(sheet))


def _heading(sheet: Sheet) -> Iterator[str]:
    yield from _wrapped(sheet.title.upper())
    yield from _wrapped(f"Source: {sheet.source}")
    yield ""
    yield "Run ____________  Date ____________  Subject ____________  Crew ____________"
    yield ""
    for position, title in sheet.positions.items():
        place = ", inside the chamber" if position in sheet.inside else ""
        yield from _wrapped(f"{position:<{_COLUMNS[4]}} {title}{place}", indent=_COLUMNS[4] + 1)
    yield ""
    yield from _wrapped(
        f"{sheet.asks} asks. An answer is due within {_number(sheet.within)} s unless the item "
        "says otherwise. Items marked | may be done in any order among themselves."
    )


def _phase_blocks(phase: Phase, sheet: Sheet) -> Iterator[Block]:
    """The heading goes with the first step, so that a page never ends on a heading."""
    heading = ("", *_underlined(phase.title), *_conditions(phase))
    steps: list[Block] = [
        tuple(_item(step, sheet) if isinstance(step, Item) else _cue(step)) for step in phase.steps
    ]
    extras = [tuple(_callout(callout)) for callout in phase.callouts]
    extras += [tuple(_elapsed(elapsed)) for elapsed in phase.elapsed]
    extras += [tuple(_reading(reading)) for reading in phase.readings]
    first, *others = [*steps, *extras] or [()]
    yield (*heading, *first)
    yield from others


def _conditions(phase: Phase) -> list[str]:
    lines = []
    if phase.gate is not None:
        lines.append(f"Before this phase: {_gate(phase.gate)}.")
    if phase.time_limit is not None:
        lines.append(f"At most {_number(phase.time_limit / 60)} min at this level.")
    if phase.rate is not None:
        lines.append(f"Rate of change: {_rate(phase.rate)} a minute.")
    return [part for line in lines for part in _wrapped(line)]


def _rate(rate: Rate) -> str:
    if rate.min is None or rate.max is None:
        end = rate.max if rate.min is None else rate.min
        return f"{_number(end or 0.0)} or {'less' if rate.min is None else 'more'}"
    return f"{_number(rate.min)} to {_number(rate.max)}"


def _gate(gate: Gate) -> str:
    """What a gate wants, in words."""
    if gate == "all":
        return "all closed"
    return f"{', '.join(map(str, gate))} closed"


def _underlined(title: str) -> list[str]:
    lines = _wrapped(title)
    return [*lines, "-" * max(map(len, lines))]


def _item(item: Item, sheet: Sheet) -> list[str]:
    answer = "; or ".join(_distinct(item.confirm))
    if item.value:
        answer = "; or ".join(filter(None, (_limits(item.value) + "  ______", answer)))
    notes = [] if item.mandatory else ["may be left out"]
    if item.within not in (None, sheet.within):
        notes.append(f"within {_number(sheet.seconds_to_answer(item))} s")
    if item.gate is not None:
        notes.append(f"gate: {_gate(item.gate)}")
    if item.gas is not None:
        notes.append(f"on {item.gas}")
    if item.departs:
        notes.append("departure")
    who = ", or ".join((item.by, *item.stand_in))
    cells = (
        _TICK,
        item.key.rjust(_COLUMNS[1]),
        "|" if item.group else "",
        item.ask[0],
        who,
        answer + (f" ({', '.join(notes)})" if notes else ""),
    )
    return _row(cells)


def _distinct(texts: tuple[str, ...]) -> list[str]:
    """The texts less those that only leave out words of one shown before."""
    shown: list[str] = []
    for text in texts:
        if not any(_is_within(text.split(), longer.split()) for longer in shown):
            shown.append(text)
    return shown


def _is_within(words: list[str], longer: list[str]) -> bool:
    rest = iter(longer)
    return all(word in rest for word in words)


def _limits(part: ValueSpec | Reading) -> str:
    if part.min is not None and part.max is not None:
        return f"{_number(part.min)} to {_number(part.max)} {part.unit}"
    if part.min is not None:
        return f"{_number(part.min)} {part.unit} or more"
    return part.unit if part.max is None else f"{_number(part.max)} {part.unit} or less"


def _cue(cue: Cue) -> list[str]:
    words = ", ".join(filter(None, (next(iter(cue.say), ""), *cue.count, cue.go[0])))
    notes = [] if cue.gate is None else [f"gate: {_gate(cue.gate)}"]
    notes += [] if cue.gas is None else [f"on {cue.gas}"]
    notes += ["departure"] if cue.departs else []
    notes += [] if cue.decompression is None else [_decompression(cue.decompression)]
    note = f" ({', '.join(notes)})" if notes else ""
    return _row((_TICK, "cue", "", words, cue.by, f"at ____:____{note}"))


def _decompression(drop: Decompression) -> str:
    return f"decompression to {_number(drop.to)}"


def _callout(callout: Callout) -> list[str]:
    call = callout.say[0].replace("{value}", "...")
    back = f"; {callout.read_back} reads back" if callout.read_back else ""
    levels = [f"{_TICK} {_number(level)}" for level in callout.levels]
    return _ticked(f'{callout.by} calls "{call}" in {callout.unit}{back}:', levels)


def _elapsed(elapsed: Elapsed) -> list[str]:
    times = [f"{_TICK} {int(due) // 60}:{int(due) % 60:02}" for due in elapsed.due]
    return _ticked(f"{elapsed.by} calls the time since {elapsed.cue}:", times)


def _ticked(title: str, entries: list[str]) -> list[str]:
    # Each tick box stays beside its entry: no space inside is a place to break.
    glued = "   ".join(entry.replace(" ", "\0") for entry in entries)
    lines = _wrapped(title, first="    ", indent=4) + _wrapped(glued, first="    ", indent=4)
    return [line.replace("\0", " ") for line in lines]


def _reading(reading: Reading) -> list[str]:
    call = reading.say[0].replace("{value}", "...")
    return _wrapped(f'{reading.by} reads "{call}": {_limits(reading)}', first="    ", indent=4)


def _closing(sheet: Sheet) -> Iterator[str]:
    if sheet.hold:
        yield ""
        yield from _wrapped("To stop: " + " / ".join(f'"{text}"' for text in sheet.hold))
    if sheet.resume:
        said = " / ".join(f'"{text.replace("{item}", "...")}"' for text in sheet.resume)
        yield from _wrapped("To go on: " + said)
    if sheet.ask_by_voice is not None:
        yield from _wrapped(f"To ask the log: {' / '.join(_questions(sheet.ask_by_voice))}")
    yield ""
    yield "Signed ______________________________  Time ____________"


def _questions(asked: AskByVoice) -> Iterator[str]:
    call = asked.call_word[0]
    reading = f"{asked.last_reading[0]} ..."
    correction = asked.correction[0].replace("{item}", "...") if asked.correction else ""
    for text in (
        *(asked.open_items[0], asked.time_at_level[0], reading, f"{asked.mark[0]} ..."),
        correction,
    ):
        if text:
            yield f'"{call}, {text}"'


def _row(cells: Iterable[str]) -> list[str]:
    columns = [_wrap_cell(cell, width) for cell, width in zip(cells, _COLUMNS, strict=True)]
    height = max(map(len, columns))
    padded = [column + [""] * (height - len(column)) for column in columns]
    return [
        " ".join(text.ljust(width) for text, width in zip(line, _COLUMNS, strict=True)).rstrip()
        for line in zip(*padded, strict=True)
    ]


def _wrap_cell(cell: str, width: int) -> list[str]:
    return textwrap.wrap(cell, width, drop_whitespace=True) if len(cell) > width else [cell]


def _wrapped(text: str, first: str = "", indent: int = 0) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=" " * indent)


def _number(value: float) -> str:
    """Shortest decimal, thousands apart: 25,000 and 2.5."""
    return f"{value:,.10g}" if abs(value) < 1e9 else f"{value:g}"
