"""Parquet: a typed table of one run; archive/table.py is the table of many. Pure.

Columns are those of CSV_COLUMNS with t and t_end as whole milliseconds (t_ms, t_end_ms), utc as a
moment, and flags as a list. Texts are as they are in the log, to the character. What is said of the
whole run stands in the schema's metadata, under names that begin with `voxlog.`.
"""

import io

from voxlog.errors import InputError
from voxlog.export.run import ExportRun, Written
from voxlog.log.record import thousandths

__all__ = ["to_parquet"]


def to_parquet(run: ExportRun) -> Written:
    """InputError where pyarrow is not installed."""
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError:
        raise InputError("Parquet needs pyarrow; pip install '.[parquet]'") from None
    texts = ("heard", "unit", "note")
    codes = ("kind", "phase", "item", "position", "status")
    rows, events = run.rows, [row.event for row in run.rows]
    code = pa.dictionary(pa.int32(), pa.string())
    columns = {
        "n": pa.array([row.n for row in rows], pa.int64()),
        "t_ms": pa.array([row.start_ms for row in rows], pa.int64()),
        "t_end_ms": pa.array([row.end_ms for row in rows], pa.int64()),
        "utc": pa.array([run.moment(row.start_ms) for row in rows], pa.timestamp("ms", tz="UTC")),
        **{name: pa.array([getattr(event, name) for event in events], code) for name in codes},
        "flags": pa.array([list(event.flags) for event in events], pa.list_(pa.string())),
        "heard": pa.array([event.heard for event in events], pa.string()),
        "value": pa.array([event.value for event in events], pa.float64()),
        **{
            name: pa.array([getattr(event, name) for event in events], pa.string())
            for name in texts[1:]
        },
        "p": pa.array([thousandths(event.p) / 1000 for event in events], pa.float64()),
        "review": pa.array([row.review for row in rows], code),
    }
    about = {
        "voxlog.run": run.name,
        "voxlog.sheet": run.sheet,
        "voxlog.program": run.program,
        "voxlog.review": run.review,
    }
    table = pa.table(columns).replace_schema_metadata(about)
    buffer = io.BytesIO()
    pq.write_table(table, buffer, compression="zstd")
    return Written(buffer.getvalue())
