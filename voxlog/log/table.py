"""Events as a table for people and spreadsheets: events.csv, and truth.csv, which looks the same.

One row an event, comma-separated, UTF-8, one line a row. Rounding: t and t_end are the log's
milliseconds (record.py) with three decimals, p its thousandths, value its shortest decimal. White
space inside a text is one space, so that a row is always one line.

A spreadsheet runs a cell that starts with = + - or @ as a formula. Such a text gets an apostrophe
in front, which reading takes away again (the practice of OWASP's "CSV Injection" page).
"""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TypeVar

from voxlog.errors import InputError
from voxlog.follow.event import FLAGS, KINDS, STATUSES, Event, Flag
from voxlog.log.record import format_decimal, seconds_to_ms, thousandths

__all__ = [
    "COLUMNS",
    "format_table",
    "format_utc",
    "inert",
    "parse_table",
    "read_table",
    "write_table",
]

COLUMNS = (
    *("n", "t", "t_end", "utc", "kind", "phase", "item", "position", "status", "flags"),
    *("heard", "value", "unit", "p", "note"),
)
_FORMULA_STARTS = ("=", "+", "-", "@")

_Word = TypeVar("_Word", bound=str)


def format_table(events: Iterable[Event], start: datetime | None = None, drift_ppb: int = 0) -> str:
    """The whole table, header first. start: the moment of the recording's first sample, if known.

    drift_ppb: by how much the recording's clock ran slow, in thousand millionths; utc allows for
    it.
    ValueError for a start without its zone: a wall clock's time alone names no moment.
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(_row(n, event, start, drift_ppb) for n, event in enumerate(events, 1))
    return buffer.getvalue()


def format_utc(start: datetime, ms: int) -> str:
    """RFC 3339 in UTC to the millisecond (half up), ms after the start: 2026-11-25T09:30:00.500Z"""
    if start.tzinfo is None:
        raise ValueError("the start of the recording has no time zone")
    moment = start.astimezone(UTC) + timedelta(milliseconds=ms, microseconds=500)
    return moment.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"


def parse_table(text: str, where: str = "events.csv") -> list[Event]:
    """Events from a table; InputError names the line and the cell that cannot be right.

    Columns may stand in any order. n and utc are for people and are not read. An empty p is 1.
    """
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    try:
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise InputError(
            f"{where} line {reader.line_num}: {error}; save it as plain CSV"
        ) from error
    if not rows or sorted(rows[0][1]) != sorted(COLUMNS):
        raise InputError(
            f"{where}: the columns must be {','.join(COLUMNS)}; save it comma-separated with these"
        )
    names = rows[0][1]
    return [_event(_cells(names, row, f"{where} line {n}")) for n, row in rows[1:] if any(row)]


def read_table(path: Path) -> list[Event]:
    """parse_table of a file; InputError also for one that cannot be read."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}; name a table that can be read") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{path}: not UTF-8 text; save it as CSV in UTF-8") from error
    return parse_table(text, path.name)


def write_table(path: Path, events: Iterable[Event], start: datetime | None = None) -> None:
    path.write_text(format_table(events, start), encoding="utf-8", newline="")


def _row(n: int, event: Event, start: datetime | None, drift_ppb: int) -> list[str]:
    ms, end_ms = seconds_to_ms(event.start), seconds_to_ms(event.end)
    # Whole microseconds by whole numbers, so that every machine writes the same.
    drift = timedelta(microseconds=(ms * drift_ppb + 500_000) // 1_000_000)
    return [
        str(n),
        _format_thousandths(ms),
        _format_thousandths(end_ms),
        "" if start is None else format_utc(start + drift, ms),
        event.kind,
        *(inert(text) for text in (event.phase, event.item, event.position)),
        event.status or "",
        ";".join(flag for flag in FLAGS if flag in event.flags),
        inert(event.heard),
        "" if event.value is None else format_decimal(event.value),
        inert(event.unit),
        _format_thousandths(thousandths(event.p)),
        inert(event.note),
    ]


def _format_thousandths(count: int) -> str:
    return f"{count // 1000}.{count % 1000:03}"


def inert(text: str) -> str:
    """A text as a cell: on one line, and nothing that a spreadsheet runs."""
    text = " ".join(text.split())
    return f"'{text}" if _is_formula(text) else text


def _alive(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and _is_formula(cell) else cell


def _is_formula(text: str) -> bool:
    """Also behind apostrophes: a text that was '=1 to begin with must come back as '=1."""
    return text.lstrip("'").startswith(_FORMULA_STARTS)


class _Cells:
    """One row by column name; every reading method says where a cell is wrong."""

    def __init__(self, where: str, cells: dict[str, str]) -> None:
        self.where = where
        self._cells = cells

    def text(self, name: str) -> str:
        return _alive(self._cells[name])

    def number(self, name: str, *, low: float, high: float = float("inf")) -> float:
        cell = self._cells[name].strip()
        try:
            number = float(cell)
        except ValueError:
            raise self.error(name, "not a number") from None
        if not low <= number <= high or number in (float("inf"), float("-inf")):
            raise self.error(name, f"not in {low:g} to {high:g}")
        return number

    def word(self, name: str, cell: str, words: Sequence[_Word]) -> _Word:
        for word in words:
            if cell == word:
                return word
        raise self.error(name, f"not one of {', '.join(words)}", cell)

    def raw(self, name: str) -> str:
        return self._cells[name].strip()

    def error(self, name: str, what: str, cell: str | None = None) -> InputError:
        shown = self._cells[name] if cell is None else cell
        return InputError(f"{self.where}: {name} {shown!r} is {what}; mend this cell")


def _cells(names: Sequence[str], row: Sequence[str], where: str) -> _Cells:
    if len(row) != len(names):
        raise InputError(f"{where}: {len(row)} cells instead of {len(names)}; mend this row")
    return _Cells(where, dict(zip(names, row, strict=True)))


def _event(cells: _Cells) -> Event:
    start = cells.number("t", low=0)
    status = cells.raw("status")
    return Event(
        start=start,
        end=cells.number("t_end", low=start),
        kind=cells.word("kind", cells.raw("kind"), KINDS),
        phase=cells.text("phase"),
        item=cells.text("item"),
        position=cells.text("position"),
        status=cells.word("status", status, STATUSES) if status else None,
        flags=_flags(cells),
        heard=cells.text("heard"),
        value=cells.number("value", low=float("-inf")) if cells.raw("value") else None,
        unit=cells.text("unit"),
        p=cells.number("p", low=0, high=1) if cells.raw("p") else 1.0,
        note=cells.text("note"),
    )


def _flags(cells: _Cells) -> tuple[Flag, ...]:
    said = {
        cells.word("flags", flag.strip(), FLAGS) for flag in cells.raw("flags").split(";") if flag
    }
    return tuple(flag for flag in FLAGS if flag in said)
