"""EDF+: a file of annotations only, so that events stand on the physiological traces. Pure.

https://edfplus.info/specs/edfplus.html: onsets are seconds from the start in the header, which has
whole seconds only. So the header has the second in which time 0 lies, and the rest of that second
is in every onset; readers disagree about a header with a fraction. Without a known start the header
has the standard's 01.01.85 and 00.00.00, and `Startdate X`.

The header's time is that of the zone the start was given with; the recording field names the zone.
All annotations are in one data record. What does not fit:

- a text of more than 500 bytes is cut: EDFlib, the reader in EDFbrowser and pyEDFlib, cuts at 512;
- 10 MB of annotations (over 100,000 rows) are more than EDFlib takes in a record, and are refused.
"""

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from voxlog.errors import InputError
from voxlog.export.run import ExportRun, Row, Written
from voxlog.export.text import label

if TYPE_CHECKING:
    from edfio import EdfAnnotation

__all__ = ["RECORD_BYTES", "TEXT_BYTES", "to_edf"]

TEXT_BYTES = 500
"""Bytes of an annotation's text in UTF-8, with its three dots where it was cut."""

RECORD_BYTES = 10_000_000
"""What EDFlib reads in one data record: its limit is 10 MiB."""

_FIRST_DAY, _LAST_DAY = date(1985, 1, 1), date(2084, 12, 31)
_HEADER_BYTES = 512


def to_edf(run: ExportRun) -> Written:
    """The file. InputError where the annotations are more than a reader takes."""
    from edfio import Edf, Recording

    start, fraction_ms = _whole_second(run.start)
    cut = 0
    annotations: list[EdfAnnotation] = []
    for row in run.rows:
        text, is_cut = _shorten(label(row))
        cut += is_cut
        annotations.append(_annotation(row, text, fraction_ms))
    edf = Edf(
        [],
        annotations=annotations,
        starttime=time(0) if start is None else start.time(),
        recording=Recording(
            startdate=None if start is None else start.date(),
            equipment_code=run.program.replace(" ", "_"),
            additional=(run.review.replace(" ", "_"), _zone(start)),
        ),
    )
    data = edf.to_bytes()
    if len(data) - _HEADER_BYTES > RECORD_BYTES:
        raise InputError(
            f"{run.name}: {len(run.rows)} rows are more than EDF+ readers take in one file"
            " (10 MB); export to another format"
        )
    note = f"EDF+ annotations are cut at {TEXT_BYTES} bytes: {cut} rows are not whole"
    return Written(data, notes=(note,) if cut else ())


def _whole_second(start: datetime | None) -> tuple[datetime | None, int]:
    """The header's moment and the milliseconds after it."""
    if start is None or not _FIRST_DAY <= start.date() <= _LAST_DAY:
        return None, 0
    return start.replace(microsecond=0), (start.microsecond + 500) // 1000


def _zone(start: datetime | None) -> str:
    if start is None:
        return "no_start_known"
    offset = start.utcoffset()
    assert offset is not None
    minutes = offset // timedelta(minutes=1)
    sign = "-" if minutes < 0 else "+"
    return f"UTC{sign}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"


def _annotation(row: Row, text: str, fraction_ms: int) -> "EdfAnnotation":
    from edfio import EdfAnnotation

    duration_ms = row.end_ms - row.start_ms
    onset = (row.start_ms + fraction_ms) / 1000
    return EdfAnnotation(onset, duration_ms / 1000 if duration_ms else None, text)


def _shorten(text: str) -> tuple[str, bool]:
    """The text in at most TEXT_BYTES, never ending in part of a character."""
    data = text.encode()
    if len(data) <= TEXT_BYTES:
        return text, False
    return data[: TEXT_BYTES - 3].decode(errors="ignore") + "...", True
