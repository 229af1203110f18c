"""RunState -> the lines of a screen of a given size. Pure; tested without a terminal.

What is read from two metres comes first and takes the largest type that leaves room for the rest:
a gate's message, the item due with who answers it, its words; then the figures. What is looked up
from near takes what is left, and is cut when nothing is.
"""

import textwrap
from collections.abc import Iterator
from typing import Final, NamedTuple

from rich.text import Text

from voxlog.display import panel
from voxlog.display.facts import clean, facts_of
from voxlog.display.letters import draw, wrap
from voxlog.live.state import RunState

__all__ = ["layout"]

_SCALES: Final = (4, 3, 2, 1)
_MOST_LINES: Final = 2  # of large type in a block: three are read, not seen
_FIGURE_ROWS: Final = 2  # that the figures need at least

_HEAD: Final = "bold cyan"
_WORDS: Final = "bold"
_GATE: Final = "bold"


class _Block(NamedTuple):
    """Text to be seen from afar."""

    text: str
    style: str
    most_lines: int = _MOST_LINES


def layout(state: RunState, width: int, height: int, *, is_ascii: bool = False) -> list[Text]:
    """At most `height` lines, each at most `width` cells wide.

    is_ascii: the terminal has no block signs; then there is no large type, and bars are of "#".
    """
    meters = panel.channels(state, width, is_ascii=is_ascii)
    answer = panel.message(state)
    # The status, the caption and one line of open items are always there.
    room = height - 3 - len(meters) - len(answer)
    gate, due = _seen_from_afar(state, width, room - _FIGURE_ROWS, is_ascii=is_ascii)
    room -= len(gate) + len(due)
    figures = panel.figures(facts_of(state), width, room, is_ascii=is_ascii)
    room -= len(figures)
    # Of what is left, open items may take all but two lines for what happened last.
    open_items = panel.open_items(state, width, max(1, room - 1))
    room -= len(open_items) - 1
    lines = [
        panel.status(state, width, is_ascii=is_ascii),
        *gate,
        panel.caption(state),
        *due,
        *figures,
        *answer,
        *open_items,
        *_padded(panel.rows(state.rows, room), room),
        *meters,
    ]
    return [_cut(line, width, is_ascii=is_ascii) for line in lines[:height]]


def _padded(lines: list[Text], room: int) -> list[Text]:
    """So that the meters stay at the foot of the screen."""
    return [*lines, *(Text("") for _ in range(room - len(lines)))]


def _cut(line: Text, width: int, *, is_ascii: bool) -> Text:
    whole = line.copy()
    if is_ascii:
        whole.plain = whole.plain.encode("ascii", "replace").decode()
    whole.truncate(max(1, width), overflow="crop")
    return whole


def _seen_from_afar(
    state: RunState, width: int, room: int, *, is_ascii: bool
) -> tuple[list[Text], list[Text]]:
    """The gate's message, and the item due, in the largest type for which there is room."""
    gate = [_Block(clean(state.gate), _GATE)] if state.gate else []
    blocks = gate + _due_blocks(state)
    for scales in _choices(len(blocks), has_gate=bool(gate)) if not is_ascii else ():
        drawn = [_drawn(block, scale, width) for block, scale in zip(blocks, scales, strict=True)]
        if all(drawn) and sum(map(len, drawn)) + len(gate) <= room:
            break
    else:
        drawn = [_small(block, width) for block in blocks]
    flat = [line for lines in drawn[len(gate) :] for line in lines]
    return ([panel.gate_caption(width), *drawn[0]] if gate else []), flat


def _due_blocks(state: RunState) -> list[_Block]:
    due = state.due
    if due is None:
        return [_Block("nothing due", _HEAD, 1), _Block("", _WORDS)]
    head = f"{clean(due.number)} {clean(due.position)}".strip()
    return [_Block(head, _HEAD, 1), _Block(clean(due.words), _WORDS)]


def _choices(count: int, *, has_gate: bool) -> Iterator[tuple[int, ...]]:
    """Scales for (gate,) head and words, best first; 0 is ordinary type.

    A gate's message may be too long for any large type; what is due is large all the same then.
    """
    for scale in _SCALES:
        yield (scale,) * count
        if scale > 1:
            yield (*(scale,) * (count - 1), scale - 1)
    if not has_gate:
        yield 1, 0
        return
    yield 1, 1, 0
    yield 1, 0, 0
    for due in _choices(count - 1, has_gate=False):
        yield (0, *due)


def _drawn(block: _Block, scale: int, width: int) -> list[Text]:
    """The block's rows of cells; none if it does not fit in the width and its number of lines."""
    if scale == 0 or not block.text:
        return _small(block, width)
    lines = wrap(block.text, width, scale)
    more = 1 if scale == 1 and block.most_lines > 1 else 0  # rather than ordinary type
    if not lines or len(lines) > block.most_lines + more:
        return []
    rows = [row for line in lines for row in (*draw(line, scale), *_space_under(scale))]
    return [Text(row.ljust(width), style=block.style) for row in rows]


def _space_under(scale: int) -> tuple[str, ...]:
    """A row between lines of large type where the half row left by seven dots is none."""
    return () if scale % 2 else ("",)


def _small(block: _Block, width: int) -> list[Text]:
    end = "..." if width > 3 else ""
    lines = textwrap.wrap(
        block.text.upper(), max(1, width), max_lines=block.most_lines, placeholder=end
    )
    return [Text(line.ljust(width), style=block.style) for line in lines] or [Text("")]
