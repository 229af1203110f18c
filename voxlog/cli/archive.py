"""`voxlog archive`: a tree of recordings to run folders and one table of all their rows."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from voxlog.cli.options import MODEL, SheetOption, cache_folder, parse_positions
from voxlog.cli.progress import progress_bar

if TYPE_CHECKING:
    from voxlog.archive.archive import ArchiveResult, Runner

__all__ = ["archive"]

MOST_CHANNELS = 64
BAD_RECORDINGS = 2


def archive(
    tree: Annotated[Path, typer.Argument(metavar="TREE", help="Folder with the recordings.")],
    sheet: SheetOption,
    out: Annotated[Path, typer.Option(metavar="DIR", help="Archive to make or to go on with.")],
    index: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="CSV with audio, start, subjects, crew. Default: every audio file in the tree.",
        ),
    ] = None,
    map_: Annotated[
        str | None,
        typer.Option(
            "--map",
            metavar="MAP",
            help="Who is on which channel, as 1=conductor,2=attendant. Default: anyone on any.",
        ),
    ] = None,
    model: Annotated[
        str,
        typer.Option(
            metavar="NAME", help="Speech model: tiny.en-intercom, tiny.en, base, or a folder."
        ),
    ] = MODEL,
    workers: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, help="Processes at a time. Default: one for each core."),
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Dask scheduler, as tcp://host:8786, to do the work."),
    ] = None,
) -> None:
    """Log a whole archive of recordings.

    What is logged already is not logged again, so a run that was stopped goes on where it was. A
    bad recording is named at the end and stops nothing; then the exit code is 2.
    """
    from voxlog.archive.archive import ArchiveRequest, log_archive
    from voxlog.sheet.load import load_sheet

    positions = load_sheet(sheet).positions
    request = ArchiveRequest(
        tree=tree,
        sheet=sheet,
        out=out,
        model=model,
        cache=cache_folder(),
        index=index,
        positions=parse_positions(map_, positions, MOST_CHANNELS) if map_ else {},
    )
    with progress_bar("Logging") as progress:
        result = log_archive(request, _runner(workers, scheduler), progress)
    _tell(result)
    if result.failed:
        raise typer.Exit(BAD_RECORDINGS)


def _runner(workers: int | None, scheduler: str | None) -> "Runner":
    from functools import partial

    if scheduler is not None:
        from voxlog.archive.cluster import run_on_cluster

        return partial(run_on_cluster, scheduler=scheduler)
    from voxlog.archive.local import run_here

    return partial(run_here, workers=workers)


def _tell(result: "ArchiveResult") -> None:
    parts = (
        (result.logged, "logged"),
        (result.there, "there already"),
        (result.same, "the same audio as another"),
        (len(result.failed), "failed"),
    )
    said = ", ".join(f"{count} {what}" for count, what in parts if count)
    typer.echo(f"{said}\n{result.runs} runs in the table: {result.table}")
    for line in result.failed:
        typer.echo(f"voxlog: {line}", err=True)
