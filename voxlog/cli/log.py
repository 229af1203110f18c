"""`voxlog log`: a recording and its run sheet to a run folder."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from voxlog.cli.debrief import leave_debrief
from voxlog.cli.options import (
    MODEL,
    OPEN_FINDINGS,
    CrewOption,
    MapOption,
    ModelOption,
    SheetOption,
    SiteOption,
    StrictOption,
    SubjectOption,
    cache_folder,
    default_out,
    parse_people,
    parse_start,
    positions_of,
    read_site_file,
)
from voxlog.cli.progress import progress_bar

if TYPE_CHECKING:
    from voxlog.pipeline import LogRequest, RunResult

__all__ = ["log", "log_with_progress"]


def log(
    audio: Annotated[
        list[Path],
        typer.Argument(
            metavar="AUDIO",
            help="One file with all positions, or a file for each, all started together.",
        ),
    ],
    sheet: SheetOption,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="Run folder to make. Default: runs/<start, or now>-<sheet>."
        ),
    ] = None,
    start: Annotated[
        str | None,
        typer.Option(
            metavar="TIME",
            help="When the recording began, as 2026-11-25T09:30:00Z. Default: what the file says.",
        ),
    ] = None,
    map_: MapOption = None,
    site: SiteOption = None,
    model: ModelOption = None,
    subject: SubjectOption = None,
    crew: CrewOption = None,
    *,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object instead of the summary.")
    ] = False,
    strict: StrictOption = False,
) -> None:
    """Log a recording against its run sheet.

    Makes the run folder, and prints what a person must look at.
    """
    from voxlog.audio.recording import open_recording
    from voxlog.log.finding import findings_of
    from voxlog.pipeline import LogRequest
    from voxlog.sheet.load import load_sheet

    given = parse_start(start) if start else None
    known = read_site_file(site)
    run_sheet = load_sheet(sheet)
    recording = open_recording(audio)
    positions = positions_of(map_, known, run_sheet.positions, recording.channels)
    begun = given or recording.start
    request = LogRequest(
        audio=tuple(audio),
        sheet=sheet,
        out=out or default_out(begun, run_sheet.id),
        model=model or (known and known.model) or MODEL,
        cache=cache_folder(),
        start=given,
        positions=positions,
        people=parse_people(subject, crew, run_sheet.positions),
    )
    result = log_with_progress(request)
    if json:
        from voxlog.cli.result import result_json

        typer.echo(result_json(request.out, result, begun))
    else:
        from rich.console import Console

        from voxlog.cli.result import print_result

        print_result(Console(highlight=False), request.out, result)
    leave_debrief(request.out, quiet=json)
    if strict and any(findings_of(event) for event in result.events):
        raise typer.Exit(OPEN_FINDINGS)


def log_with_progress(request: "LogRequest") -> "RunResult":
    """Make the run folder with a bar on the terminal."""
    with progress_bar() as progress:
        # Imported under the bar: it takes a second.
        from voxlog.pipeline import log_recording

        return log_recording(request, progress)
