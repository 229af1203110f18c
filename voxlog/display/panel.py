"""The small print of the screen: what is looked up from near, each as lines of text. Pure."""

import math
from collections.abc import Sequence
from itertools import product
from typing import Final

from rich.text import Text

from voxlog.display.facts import (
    MARKS,
    STYLES,
    Fact,
    channel_fact,
    clean,
    format_age,
    format_run_time,
    open_line,
    recording_line,
)
from voxlog.display.letters import draw, rows_of, width_of
from voxlog.live.state import ChannelState, Row, RunState

__all__ = [
    "caption",
    "channels",
    "figures",
    "gate_caption",
    "message",
    "open_items",
    "rows",
    "status",
]

_FLOOR_DBFS: Final = -60.0
_CHANNEL_COLUMNS: Final = 40
_NAME_COLUMNS: Final = 10
_BAR_COLUMNS: Final = 8
_WARNING_COLUMNS: Final = 11
_LABEL_COLUMNS: Final = 15
_GAP: Final = 2
_FAINT: Final = "dim"


def status(state: RunState, width: int, *, is_ascii: bool) -> Text:
    """Whether it is recording, how far behind it hears, how many findings, which run."""
    words, matter = recording_line(state)
    shape = {"calm": "●", "watch": "●", "alarm": "■"}[matter]
    if is_ascii:
        shape = {"calm": "*", "watch": "*", "alarm": "#"}[matter]
    left = Text(f" {shape} {words} ", style=STYLES[matter] or "bold green")
    findings = f"{state.findings} finding{'' if state.findings == 1 else 's'}"
    right = Text(f"{findings}  ")
    behind = max(0.0, state.behind_s)
    right.append(f"{'! ' if behind >= 5 else ''}behind by {behind:.0f} s", _behind_style(behind))
    room = width - left.cell_len - right.cell_len - 2 * _GAP
    title = Text(clean(state.title), style=_FAINT)
    title.truncate(max(0, room), overflow="crop")
    space = " " * max(1, width - left.cell_len - title.cell_len - right.cell_len - _GAP)
    return Text.assemble(left, " " * _GAP, title, space, right)


def _behind_style(behind_s: float) -> str:
    return STYLES["watch"] if behind_s >= 5 else ""


def caption(state: RunState) -> Text:
    """What stands under it in large type, and for how long it has been asked."""
    due = state.due
    if due is None:
        return Text("")
    asked = f"  asked {format_age(due.asked_s)}" if due.asked_s is not None else ""
    return Text.assemble(
        (" DUE NOW ", "bold reverse"),
        (asked, "bold"),
        (f"  {clean(due.phase)}" if due.phase else "", _FAINT),
    )


def gate_caption(width: int) -> Text:
    """A bar across the screen over a gate's message."""
    return Text(" !! GATE: close this first ".ljust(width), style=STYLES["alarm"])


def figures(facts: Sequence[Fact], width: int, room: int, *, is_ascii: bool) -> list[Text]:
    """The figures side by side, as large as `width` and `room` rows allow; at least two rows.

    The last one may be left out where the others then fit: open items have a line of their own.
    """
    for scale, shown in () if is_ascii else product((3, 2, 1), (facts, facts[:-1])):
        columns = [_column(fact, scale) + _GAP * scale for fact in shown]
        total = sum(columns) - _GAP * scale
        if total <= width and rows_of(scale, "figures") + 2 <= room:
            spread = (width - total) // len(columns)
            return _large_figures(shown, [column + spread for column in columns], scale)
    plain = [_plain_figure(fact) for fact in facts]
    columns = [max(len(fact.label), len(cell)) + 1 for fact, cell in zip(facts, plain, strict=True)]
    spread = (width - sum(columns)) // len(facts)
    columns = (
        [column + spread for column in columns]
        if spread >= 0
        else ([width // len(facts)] * len(facts))
    )
    return [
        _joined([Text(fact.label.upper(), style=_FAINT) for fact in facts], columns),
        _joined(plain, columns),
    ]


def _column(fact: Fact, scale: int) -> int:
    words = max(min(len(fact.label), _LABEL_COLUMNS), len(_detail(fact)))
    return max(width_of(fact.figure, scale, "figures"), words)


def _large_figures(facts: Sequence[Fact], columns: list[int], scale: int) -> list[Text]:
    """A row of labels, the figures, a row of details."""
    drawn = [
        [Text(row, style=_colour(fact)) for row in draw(fact.figure, scale, "figures")]
        for fact in facts
    ]
    return [
        _joined([Text(fact.label.upper(), style=_FAINT) for fact in facts], columns),
        *(_joined(list(row), columns) for row in zip(*drawn, strict=True)),
        _joined([_detail(fact) for fact in facts], columns),
    ]


def _plain_figure(fact: Fact) -> Text:
    figure = Text(f"{MARKS[fact.matter]}{fact.figure}", style=STYLES[fact.matter] or "bold")
    return Text.assemble(figure, " " if fact.detail else "", Text(fact.detail))


def _detail(fact: Fact) -> Text:
    return Text(f"{MARKS[fact.matter]}{fact.detail}" if fact.detail else "", STYLES[fact.matter])


def _colour(fact: Fact) -> str:
    return {"calm": "bold", "watch": "bold yellow", "alarm": "bold red"}[fact.matter]


def _joined(cells: Sequence[Text], columns: Sequence[int]) -> Text:
    """Cells side by side, each cut or padded to its column, whose last cell stays empty."""
    line = Text()
    for cell, width in zip(cells, columns, strict=True):
        part = cell.copy()
        part.truncate(max(0, width - 1), overflow="crop", pad=True)
        line.append_text(part).append(" ")
    return line


def channels(state: RunState, width: int, *, is_ascii: bool) -> list[Text]:
    """A meter for each channel, as many beside one another as fit with their warnings whole."""
    meters = [_meter(channel, is_ascii=is_ascii) for channel in state.channels]
    beside = max(1, min(width // _CHANNEL_COLUMNS, len(meters)))
    longest = max((meter.cell_len for meter in meters), default=0)
    beside = max(1, min(beside, width // (longest + 1)))
    columns = [max(2, width // beside)] * beside
    lines = []
    for start in range(0, len(meters), beside):
        cells = meters[start : start + beside]
        cells += [Text("")] * (beside - len(cells))
        lines.append(_joined(cells, columns))
    return lines


def _meter(channel: ChannelState, *, is_ascii: bool) -> Text:
    """Name, bar, level, word; a long warning takes the place of the bar and the level."""
    fact = channel_fact(channel)
    name = f"{fact.label:<{_NAME_COLUMNS}.{_NAME_COLUMNS}} "
    words = Text(f"{MARKS[fact.matter]}{fact.detail}", style=STYLES[fact.matter])
    if len(words) > _WARNING_COLUMNS:
        return Text.assemble(name, words)
    full = round(_share(channel.level_dbfs) * _BAR_COLUMNS)
    on, off = ("#", ".") if is_ascii else ("█", "░")
    bar = Text(on * full + off * (_BAR_COLUMNS - full), style="bold" if full else _FAINT)
    return Text.assemble(name, bar, f" {fact.figure:>7} ", words)


def _share(level_dbfs: float | None) -> float:
    """How much of a bar a level fills; nothing at -60 dBFS and below."""
    if level_dbfs is None or math.isnan(level_dbfs):
        return 0.0
    return min(1.0, max(0.0, 1 - level_dbfs / _FLOOR_DBFS))


def message(state: RunState) -> list[Text]:
    """The last answer to a question asked by voice."""
    return [Text(f"> {clean(state.answer)}", style="bold")] if state.answer else []


def open_items(state: RunState, width: int, room: int) -> list[Text]:
    """One item a line where there is room, all in one line that says how many more else."""
    items = [open_line(item) for item in state.open]
    if not items:
        return [Text("open: none", style=_FAINT)] if room else []
    head = f"! OPEN {len(items)}: "
    if 1 + len(items) <= room:
        first = Text(head.rstrip(), style=STYLES["watch"])
        return [first, *(Text(f"  {item}") for item in items)]
    line, shown = "", 0
    for item in items:
        longer = f"{line}; {item}" if line else item
        more = f"; and {len(items) - shown - 1} more" if shown + 1 < len(items) else ""
        if line and len(head) + len(longer) + len(more) > width:
            break
        line, shown = longer, shown + 1
    rest = f"; and {len(items) - shown} more" if shown < len(items) else ""
    return [Text.assemble((head, STYLES["watch"]), line, rest)] if room else []


def rows(newest: Sequence[Row], room: int) -> list[Text]:
    """The newest rows of the log that fit, oldest first."""
    return [_row(row) for row in newest[-room:]] if room > 0 else []


def _row(row: Row) -> Text:
    change = "" if row.change == "new" else f"{clean(row.change)}: "
    return Text.assemble(
        (f"{format_run_time(row.t):>7}  {row.number:>4}  ", _FAINT),
        (f"{change}{clean(row.text)}", "strike" if row.change == "withdrawn" else ""),
    )
