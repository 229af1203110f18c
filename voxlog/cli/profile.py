"""`voxlog profile`: altitude or depth of a run, and what follows from it."""

import json as json_text
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["profile"]


def profile(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The run folder.")],
    *,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object instead of tables.")
    ] = False,
) -> None:
    """Estimate altitude or depth, and what follows.

    Times at levels, rates, pressure, oxygen. Aids, with their cautions; the rows of the log count
    as its review has left them.
    """
    from voxlog.export.source import read_rows
    from voxlog.profile.estimate import altitude_profile
    from voxlog.profile.physiology import physiology
    from voxlog.sheet.load import load_sheet

    events = read_rows(folder, as_reviewed=True).events
    sheet = load_sheet(folder / "sheet.yaml")
    estimate = altitude_profile(sheet, events)
    facts = physiology(sheet, events, estimate)
    if json:
        from voxlog.report.profile_json import profile_json

        typer.echo(json_text.dumps(profile_json(estimate, facts), ensure_ascii=False))
    else:
        from rich.console import Console

        from voxlog.report.profile_tables import print_profile

        print_profile(Console(highlight=False), estimate, facts)
