"""TextGrid, the annotation format of phonetics, as Praat writes it in full. Pure.

A tier of intervals may not hold two that overlap, and none without length. So rows of one kind are
in a tier of their own, those that overlap in a second one ("item 2"), and rows without length in a
tier of points ("item, no length"). The last tier says in one interval how far the review has come.
"""

from collections.abc import Iterator, Sequence

from voxlog.export.run import ExportRun, Row, Written
from voxlog.export.text import format_seconds, label, one_line
from voxlog.follow.event import KINDS

__all__ = ["to_textgrid"]

Lane = list[Row]


def to_textgrid(run: ExportRun) -> Written:
    """UTF-8 in the long form, times with three decimals."""
    low = min((row.start_ms for row in run.rows), default=0)
    high = max((row.end_ms for row in run.rows), default=0)
    span = (min(low, 0), max(high, min(low, 0) + 1))
    tiers = [*_tiers(run.rows, span), _intervals("review", span, [(*span, run.review)])]
    head = [
        'File type = "ooTextFile"',
        'Object class = "TextGrid"',
        "",
        *_span(span, ""),
        "tiers? <exists> ",
        f"size = {len(tiers)} ",
        "item []: ",
    ]
    lines = [*head]
    for number, tier in enumerate(tiers, 1):
        lines += [f"    item [{number}]:", *(f"        {line}" for line in tier)]
    return Written(("\n".join(lines) + "\n").encode())


def _tiers(rows: Sequence[Row], span: tuple[int, int]) -> Iterator[list[str]]:
    for kind in KINDS:
        of_kind = sorted(
            (row for row in rows if row.event.kind == kind), key=lambda row: (row.start_ms, row.n)
        )
        long = _lanes([row for row in of_kind if row.end_ms > row.start_ms])
        for number, lane in enumerate(long, 1):
            yield _intervals(_name(kind, number), span, _filled(lane, span))
        for number, lane in enumerate(_lanes([r for r in of_kind if r.end_ms == r.start_ms]), 1):
            yield _points(_name(f"{kind}, no length", number), span, lane)


def _name(name: str, number: int) -> str:
    return name if number == 1 else f"{name} {number}"


def _lanes(rows: Sequence[Row]) -> list[Lane]:
    """Rows in as few lanes as hold them side by side; each row in the first that is free."""
    lanes: list[Lane] = []
    for row in rows:
        for lane in lanes:
            last = lane[-1]
            if last.end_ms <= row.start_ms and last.start_ms < row.start_ms:
                lane.append(row)
                break
        else:
            lanes.append([row])
    return lanes


def _filled(lane: Lane, span: tuple[int, int]) -> list[tuple[int, int, str]]:
    """The lane's intervals and, without text, those between them."""
    intervals: list[tuple[int, int, str]] = []
    at = span[0]
    for row in lane:
        if row.start_ms > at:
            intervals.append((at, row.start_ms, ""))
        intervals.append((row.start_ms, row.end_ms, label(row)))
        at = row.end_ms
    if at < span[1]:
        intervals.append((at, span[1], ""))
    return intervals


def _intervals(
    name: str, span: tuple[int, int], intervals: Sequence[tuple[int, int, str]]
) -> list[str]:
    lines = ['class = "IntervalTier" ', f"name = {_quote(name)} ", *_span(span, "")]
    lines.append(f"intervals: size = {len(intervals)} ")
    for number, (start, end, text) in enumerate(intervals, 1):
        lines += [f"intervals [{number}]:", *_span((start, end), "    ")]
        lines.append(f"    text = {_quote(text)} ")
    return lines


def _points(name: str, span: tuple[int, int], lane: Lane) -> list[str]:
    lines = ['class = "TextTier" ', f"name = {_quote(name)} ", *_span(span, "")]
    lines.append(f"points: size = {len(lane)} ")
    for number, row in enumerate(lane, 1):
        lines += [f"points [{number}]:", f"    number = {format_seconds(row.start_ms)} "]
        lines.append(f"    mark = {_quote(label(row))} ")
    return lines


def _span(span: tuple[int, int], indent: str) -> list[str]:
    return [
        f"{indent}xmin = {format_seconds(span[0])} ",
        f"{indent}xmax = {format_seconds(span[1])} ",
    ]


def _quote(text: str) -> str:
    doubled = one_line(text).replace('"', '""')
    return f'"{doubled}"'
