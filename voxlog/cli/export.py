"""`voxlog export`: a run's log in a format that other tools read."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["ExportFormat", "export"]

BESIDE = {"bids": (".json",)}


class ExportFormat(StrEnum):
    """As voxlog.export.formats.FORMATS, which is not imported here: --help does not need it."""

    EDF = "edf"
    VTT = "vtt"
    CSV = "csv"
    PARQUET = "parquet"
    BIDS = "bids"
    XES = "xes"
    TEXTGRID = "textgrid"


def export(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The run folder.")],
    to: Annotated[
        ExportFormat,
        typer.Option(metavar="FORMAT", help="edf, vtt, csv, parquet, bids, xes or textgrid."),
    ],
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="File to write. Default: beside the run folder."),
    ] = None,
    clock: Annotated[
        str | None,
        typer.Option(
            metavar="MARKS",
            help="An outside recorder's clock: +12.5, or marks as 60.0=72.5,3600.0=3612.6"
            " (log=recorder).",
        ),
    ] = None,
    *,
    reviewed: Annotated[
        bool, typer.Option("--reviewed", help="Rows as they stand after the review.")
    ] = False,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace a file that is there.")
    ] = False,
) -> None:
    """Write a run's log for other tools.

    EDF+ annotations, WebVTT captions, CSV, Parquet, BIDS events, IEEE 1849 XES or a TextGrid. The
    run folder itself is not touched.
    """
    from voxlog.export.clock import parse_clock
    from voxlog.export.files import check_place, default_place, save
    from voxlog.export.formats import FORMATS
    from voxlog.export.source import export_run, read_about, read_rows

    suffix, write = FORMATS[to.value]
    place = out or default_place(folder, suffix)
    check_place(place, folder, BESIDE.get(to.value, ()), overwrite=overwrite)
    standing = read_rows(folder, as_reviewed=reviewed)
    about = read_about(folder)
    recorder = None if clock is None else parse_clock(clock, about.start, about.drift_ppb)
    run = export_run(about, standing, recorder, as_reviewed=reviewed)
    written = write(run)
    paths = save(place, written)
    typer.echo(f"{len(run.rows)} rows, {run.review}: {' and '.join(map(str, paths))}")
    if recorder is not None:
        typer.echo(recorder.describe())
    for note in (recorder.warning if recorder else "", *written.notes):
        if note:
            typer.echo(f"voxlog: {note}", err=True)
