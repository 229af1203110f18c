"""The table of many runs: one row an event, as Parquet files by month.

    TABLE/month=2026-11/events.parquet
    TABLE/month=unknown/events.parquet      runs whose start nobody knows

The folder names are those of a Hive partition, which pyarrow, DuckDB, pandas, polars and Spark read
as the column `month`; a reader that wants one month opens one file. Inside a file rows stand run by
run, in the order of the log, and texts that repeat are dictionary-encoded.

SCHEMA is the description of the columns. Columns are only ever added, at the end.
"""

import os
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.folder import disk_errors, sync_directory
from voxlog.log.record import seconds_to_ms, thousandths

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.dataset as pads

__all__ = [
    "FILE_NAME",
    "SCHEMA",
    "UNKNOWN_MONTH",
    "Column",
    "RunRows",
    "arrow_schema",
    "month_of",
    "open_table",
    "run_table",
    "write_table",
]

FILE_NAME = "events.parquet"
UNKNOWN_MONTH = "unknown"
ROWS_A_GROUP = 64_000
"""Rows that a reader takes at a time: some megabytes, and enough to compress well."""


class Column(NamedTuple):
    """A column: its name, its type, and what stands in it. `null` says when it may be missing."""

    name: str
    type: Literal["code", "text", "moment", "whole", "number", "yes-no"]
    meaning: str
    null: str = ""


SCHEMA: tuple[Column, ...] = (
    Column("run", "code", "name of the run, unique in the table"),
    Column("sheet", "code", "id of the run sheet"),
    Column("sheet_sha256", "code", "digest of the run sheet"),
    Column("model", "code", "speech model"),
    Column("start", "moment", "first sample of the recording, UTC", "nobody knows it"),
    Column("run_ms", "whole", "length of the recording"),
    Column("subjects", "code", "codes of the subjects, separated by semicolons; empty: unknown"),
    Column("crew", "code", "code of who held the row's position; empty: unknown"),
    Column("reviewed", "yes-no", "every finding of the run has an agreed decision"),
    Column("review", "code", "agreed, disputed, deferred or open; empty: nothing to decide"),
    Column("n", "whole", "number of the row; rows added in review follow the log's own"),
    Column("t_ms", "whole", "start of the words, from the start of the recording"),
    Column("t_end_ms", "whole", "end of the words"),
    Column("kind", "code", "as in events.csv"),
    Column("phase", "code", "as in events.csv"),
    Column("item", "code", "as in events.csv"),
    Column("position", "code", "as in events.csv"),
    Column("status", "code", "as in events.csv; empty where nothing is to be confirmed"),
    Column("flags", "code", "as in events.csv, separated by semicolons"),
    Column("heard", "text", "as in events.csv"),
    Column("value", "number", "as in events.csv", "no number was spoken"),
    Column("unit", "code", "as in events.csv"),
    Column("p", "number", "as in events.csv"),
    Column("note", "text", "as in events.csv"),
    Column(
        "delay_ms",
        "whole",
        "from the end of the last challenge to the first answer",
        "not both heard",
    ),
    Column("limit_low", "number", "lower limit of the value on the run's sheet", "none there"),
    Column("limit_high", "number", "upper limit of the value on the run's sheet", "none there"),
)


@dataclass(frozen=True, slots=True)
class RunRows:
    """One run as the table has it.

    run: its name, unique in the table. start: of the recording, with its zone; None when unknown.
    events: the rows as they stand, after the review if there was one. subjects: codes. crew:
    position to the code of who held it. numbers: of the events' rows; reviews: how far the review
    of each has come. Both are as long as events, or empty for a log that nobody reviewed.
    delays_ms: of the answers, as long as events, or empty where nobody worked them out. limits:
    item or reading to the lower and upper limit of its value.
    """

    run: str
    sheet: str
    sheet_sha256: str
    model: str
    start: datetime | None
    run_ms: int
    events: Sequence[Event]
    subjects: tuple[str, ...] = ()
    crew: Mapping[str, str] = field(default_factory=dict)
    reviewed: bool = False
    numbers: Sequence[int] = ()
    reviews: Sequence[str] = ()
    delays_ms: Sequence[int | None] = ()
    limits: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)


def month_of(start: datetime | None) -> str:
    """The partition of a run, by its start in UTC: 2026-11."""
    return UNKNOWN_MONTH if start is None else f"{start.astimezone(UTC):%Y-%m}"


def arrow_schema() -> "pa.Schema":
    """SCHEMA as pyarrow has it."""
    pa = _pyarrow()
    types = {
        "code": pa.dictionary(pa.int32(), pa.string()),
        "text": pa.string(),
        "moment": pa.timestamp("ms", tz="UTC"),
        "whole": pa.int64(),
        "number": pa.float64(),
        "yes-no": pa.bool_(),
    }
    return pa.schema(
        [pa.field(name, types[kind], nullable=bool(null)) for name, kind, _, null in SCHEMA]
    )


def run_table(run: RunRows) -> "pa.Table":
    """The rows of one run. ValueError where numbers, reviews or delays do not fit the events."""
    pa = _pyarrow()
    count = len(run.events)
    numbers = run.numbers or range(1, count + 1)
    reviews = run.reviews or [""] * count
    delays = run.delays_ms or [None] * count
    if not len(numbers) == len(reviews) == len(delays) == count:
        lengths = f"{len(numbers)} numbers, {len(reviews)} reviews, {len(delays)} delays"
        raise ValueError(f"{run.run}: {count} events, {lengths}")
    start = None if run.start is None else run.start.astimezone(UTC)
    same = {
        "run": run.run,
        "sheet": run.sheet,
        "sheet_sha256": run.sheet_sha256,
        "model": run.model,
        "start": start,
        "run_ms": run.run_ms,
        "subjects": ";".join(run.subjects),
        "reviewed": run.reviewed,
    }
    columns: dict[str, Sequence[object]] = {
        **{name: [value] * count for name, value in same.items()},
        "crew": [run.crew.get(event.position, "") for event in run.events],
        "n": list(numbers),
        "review": list(reviews),
        "delay_ms": list(delays),
        **_limit_columns(run),
        **_event_columns(run.events),
    }
    schema = arrow_schema()
    return pa.table(
        {name: pa.array(columns[name], schema.field(name).type) for name in schema.names},
        schema=schema,
    )


def _limit_columns(run: RunRows) -> dict[str, Sequence[object]]:
    """Only beside a value: elsewhere a limit says nothing."""
    limits = [
        (None, None) if event.value is None else run.limits.get(event.item, (None, None))
        for event in run.events
    ]
    return {"limit_low": [low for low, _ in limits], "limit_high": [high for _, high in limits]}


def _event_columns(events: Sequence[Event]) -> dict[str, Sequence[object]]:
    texts = ("kind", "phase", "item", "position", "heard", "value", "unit", "note")
    return {
        **{name: [getattr(event, name) for event in events] for name in texts},
        "t_ms": [seconds_to_ms(event.start) for event in events],
        "t_end_ms": [seconds_to_ms(event.end) for event in events],
        "status": [event.status or "" for event in events],
        "flags": [";".join(event.flags) for event in events],
        "p": [thousandths(event.p) / 1000 for event in events],
    }


def write_table(folder: Path, runs: Iterable[RunRows]) -> int:
    """Make the table of these runs, and count them; what the folder's table had is replaced.

    Each month's file is written beside its place and put there whole, so that a reader never sees
    half of one. InputError when the folder cannot be written; ValueError for a run named twice.
    """
    months: dict[str, list[pa.Table]] = defaultdict(list)
    seen: set[str] = set()
    for run in runs:
        if run.run in seen:
            raise ValueError(f"{run.run}: stands twice in the table")
        seen.add(run.run)
        months[month_of(run.start)].append(run_table(run))
    with disk_errors(folder):
        folder.mkdir(parents=True, exist_ok=True)
        for month, tables in sorted(months.items()):
            _write_month(folder / f"month={month}", tables)
        for stale in sorted(folder.glob(f"month=*/{FILE_NAME}")):
            if stale.parent.name.removeprefix("month=") not in months:
                stale.unlink()
    return len(seen)


def _write_month(folder: Path, tables: Sequence["pa.Table"]) -> None:
    pa = _pyarrow()
    import pyarrow.parquet as pq

    folder.mkdir(exist_ok=True)
    partial = folder / f"{FILE_NAME}.partial"
    table = pa.concat_tables(tables).unify_dictionaries()
    pq.write_table(table, partial, compression="zstd", row_group_size=ROWS_A_GROUP)
    with partial.open("rb+") as file:
        os.fsync(file.fileno())
    partial.replace(folder / FILE_NAME)
    sync_directory(folder)


def open_table(folder: Path) -> "pads.Dataset":
    """The table to query; nothing is read but the files' footers. Its last column is `month`.

        rows = open_table(folder).to_table(["item", "status"], filter=field("month") >= "2026-01")

    InputError where there is no table.
    """
    pa = _pyarrow()
    import pyarrow.dataset as pads

    files = sorted(folder.glob(f"month=*/{FILE_NAME}"))
    if not files:
        raise InputError(
            f"{folder}: no table of runs (month=*/{FILE_NAME}) in it; make one with voxlog archive"
        )
    month = pads.partitioning(pa.schema([pa.field("month", pa.string())]), flavor="hive")
    try:
        return pads.dataset(
            [str(file) for file in files],
            format="parquet",
            partitioning=month,
            partition_base_dir=str(folder),
            schema=pa.schema([*arrow_schema(), pa.field("month", pa.string())]),
        )
    except (OSError, pa.ArrowException) as error:
        raise InputError(f"{folder}: not a table of runs ({error}); make it again") from error


def _pyarrow() -> Any:
    """The library, or what to install."""
    try:
        import pyarrow as pa
    except ImportError:
        raise InputError("Parquet needs pyarrow; pip install '.[parquet]'") from None
    return pa
