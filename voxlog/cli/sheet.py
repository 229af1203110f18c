"""`voxlog sheet`: check a run sheet, print it, and print the schema of the format."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["app", "check", "schema", "sheet", "show"]

WRONG = 2

app = typer.Typer(
    help="Check or print a run sheet.",
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

SheetFile = Annotated[Path, typer.Argument(metavar="FILE", help="The run sheet.")]


@app.callback(invoke_without_command=True)
def sheet(context: typer.Context) -> None:
    """Check or print a run sheet."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@app.command()
def check(file: SheetFile) -> None:
    """Say all that is wrong with a sheet, or with a site file.

    Also what is likely to disappoint. A line for each fault or warning, with file,
    line and column. Exit 2 if there is a fault.
    """
    from voxlog.sheet.check import warnings
    from voxlog.sheet.load import is_site, load_sheet, load_site
    from voxlog.sheet.problem import SheetError

    try:
        if is_site(file):
            site = load_site(file)
            counts = f"channels: {len(site.channels)}, rules: {len(site.rules)}"
            typer.echo(f"{file}: a right site file; {counts}")
            return
        run_sheet = load_sheet(file)
    except SheetError as error:
        for problem in error.problems:
            typer.echo(str(problem))
        raise typer.Exit(WRONG) from None
    found = warnings(run_sheet)
    for warning in found:
        typer.echo(str(replace(warning, message=f"warning: {warning.message}")))
    typer.echo(
        f"{file}: a right sheet; phases: {len(run_sheet.phases)}, items: {len(run_sheet.items)}, "
        f"warnings: {len(found)}"
    )


@app.command()
def show(file: SheetFile) -> None:
    """Print a sheet for the clip board.

    80 columns, pages of 60 lines.
    """
    from voxlog.sheet.load import load_sheet
    from voxlog.sheet.show import show as as_text

    typer.echo(as_text(load_sheet(file)), nl=False)


@app.command()
def schema(
    *,
    site: Annotated[bool, typer.Option("--site", help="That of site files.")] = False,
) -> None:
    """Print the JSON Schema, for editors."""
    from voxlog.sheet.schema import schema_text, site_schema_text

    typer.echo(site_schema_text() if site else schema_text(), nl=False)
