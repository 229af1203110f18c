"""Read the rows of many runs: from tables of runs (Parquet by month) or from run folders.

Of a table only the columns and months that are asked for are read; the rest is never loaded.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from voxlog.archive.table import FILE_NAME, UNKNOWN_MONTH, RunRows, open_table, run_table
from voxlog.audit.question import Found, Question
from voxlog.audit.rows import COLUMNS
from voxlog.errors import InputError
from voxlog.log.folder import CHAINED

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.compute as pc
    import pyarrow.dataset as pads

__all__ = ["read_rows"]

_KINDS: Final = ("item", "reading")
"""The kinds of rows that an audit counts."""


class _Places(NamedTuple):
    """tables: folders that hold month=... folders. runs: run folders."""

    tables: list[Path]
    runs: list[Path]


def read_rows(places: Sequence[Path], question: Question) -> Found:
    """The rows of run folders, folder trees of them, and tables of runs.

    Where a tree has a table of runs, that is read, and not the run folders beside it: it was made
    of them. InputError for a place without runs, a run folder that is not whole, or a run that
    stands in two places, a table that cannot be read; also where no run is left to count.
    """
    found = [_find(place) for place in places]
    tables = list(dict.fromkeys(folder.resolve() for one in found for folder in one.tables))
    folders = list(dict.fromkeys(folder.resolve() for one in found for folder in one.runs))
    datasets = [open_table(folder) for folder in tables]
    if folders:
        datasets.append(_as_dataset(folders))
    import pyarrow as pa

    try:
        return _read(datasets, question)
    except (OSError, pa.ArrowException) as error:
        where = ", ".join(map(str, tables))
        raise InputError(f"{where}: cannot be read ({error}); make the table again") from error


def _find(place: Path) -> _Places:
    if not place.is_dir():
        raise InputError(f"{place}: no such folder; name a run folder, a tree of them, or a table")
    tables = sorted({file.parent.parent for file in place.rglob(f"month=*/{FILE_NAME}")})
    if tables:
        return _Places(tables, [])
    runs = sorted(file.parent for file in place.rglob(CHAINED))
    if not runs:
        raise InputError(
            f"{place}: no runs in it (no {CHAINED}, no month=*/{FILE_NAME}); name another folder"
        )
    return _Places([], [folder for folder in runs if folder.suffix != ".partial"])


def _as_dataset(folders: Sequence[Path]) -> "pads.Dataset":
    import pyarrow as pa
    import pyarrow.dataset as pads

    tables = [run_table(rows) for rows in _folder_rows(folders)]
    return pads.dataset(pa.concat_tables(tables).unify_dictionaries())


def _folder_rows(folders: Sequence[Path]) -> Iterator[RunRows]:
    from voxlog.archive.run_rows import run_rows

    for folder in folders:
        yield run_rows(folder)


def _read(datasets: Sequence["pads.Dataset"], question: Question) -> Found:
    import pyarrow as pa
    import pyarrow.compute as pc

    about_runs = [
        dataset.to_table(columns=["run", "reviewed"], filter=_filter(dataset, question))
        .unify_dictionaries()
        .group_by("run")
        .aggregate([("reviewed", "min")])
        for dataset in datasets
    ]
    runs = pa.concat_tables([_plain(table) for table in about_runs])
    _refuse_twice(runs)
    not_reviewed = runs.num_rows - (pc.sum(runs["reviewed_min"]).as_py() or 0)
    tables = [
        dataset.to_table(columns=list(COLUMNS), filter=_counted(dataset, question))
        for dataset in datasets
    ]
    rows = pa.concat_tables(tables).unify_dictionaries().to_pandas()
    counted = runs.num_rows if question.unreviewed else runs.num_rows - not_reviewed
    if not counted:
        raise InputError(_nothing(not_reviewed))
    return Found(rows, counted, not_reviewed)


def _nothing(not_reviewed: int) -> str:
    if not_reviewed:
        return (
            f"nothing to count: {not_reviewed} runs, none reviewed to the end; review them "
            "(voxlog review), or count what nobody has checked with --unreviewed"
        )
    return "nothing to count: no run fits --since and --sheet; ask for others"


def _counted(dataset: "pads.Dataset", question: Question) -> "pc.Expression":
    """Only what was reviewed is a fact."""
    import pyarrow.compute as pc

    chosen = _filter(dataset, question)
    return chosen if question.unreviewed else chosen & pc.field("reviewed")


def _filter(dataset: "pads.Dataset", question: Question) -> "pc.Expression":
    """What a row must be. The month is asked for as well as the start: it chooses the files."""
    import pyarrow as pa
    import pyarrow.compute as pc

    chosen = pc.field("kind").isin(_KINDS)
    if question.sheet is not None:
        chosen &= pc.field("sheet") == question.sheet
    if question.since is not None:
        since = question.since.astimezone(UTC)
        chosen &= pc.field("start") >= pa.scalar(since, pa.timestamp("ms", tz="UTC"))
        if "month" in dataset.schema.names:
            chosen &= pc.field("month") >= f"{since:%Y-%m}"
            chosen &= pc.field("month") != UNKNOWN_MONTH
    return chosen


def _plain(table: "pa.Table") -> "pa.Table":
    """With the run's name as plain text: dictionaries of two tables do not add up."""
    import pyarrow as pa

    return table.set_column(
        table.schema.get_field_index("run"), "run", table["run"].cast(pa.string())
    )


def _refuse_twice(runs: "pa.Table") -> None:
    counts = runs["run"].value_counts()
    twice = [one["values"] for one in counts.to_pylist() if one["counts"] > 1]
    if twice:
        raise InputError(f"run {min(twice)}: stands in two of the places; name one of them")
