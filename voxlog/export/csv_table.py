"""CSV: the columns of events.csv with the times of the chosen clock, and `review`. Pure.

As in events.csv, white space in a text is one space, and a text that a spreadsheet would run as a
formula has an apostrophe in front.
"""

import csv
import io

from voxlog.export.run import ExportRun, Row, Written
from voxlog.export.text import format_seconds, one_line
from voxlog.log.record import format_decimal, thousandths
from voxlog.log.table import COLUMNS, inert

__all__ = ["CSV_COLUMNS", "format_moment", "to_csv"]

CSV_COLUMNS = (*COLUMNS, "review")


def to_csv(run: ExportRun) -> Written:
    """UTF-8, a line a row, header first."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(CSV_COLUMNS)
    writer.writerows(_cells(run, row) for row in run.rows)
    return Written(buffer.getvalue().encode())


def format_moment(run: ExportRun, ms: int) -> str:
    """RFC 3339 in UTC to the millisecond; empty when no start is known."""
    moment = run.moment(ms)
    if moment is None:
        return ""
    return moment.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"


def _cells(run: ExportRun, row: Row) -> list[str]:
    event = row.event
    return [
        str(row.n),
        format_seconds(row.start_ms),
        format_seconds(row.end_ms),
        format_moment(run, row.start_ms),
        event.kind,
        *(inert(one_line(text)) for text in (event.phase, event.item, event.position)),
        event.status or "",
        ";".join(event.flags),
        inert(one_line(event.heard)),
        "" if event.value is None else format_decimal(event.value),
        inert(one_line(event.unit)),
        format_seconds(thousandths(event.p)),
        inert(one_line(event.note)),
        row.review,
    ]
