"""`voxlog learn`: what decided findings say about the run sheet."""

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["learn"]


def learn(
    folders: Annotated[
        list[Path], typer.Argument(metavar="DIR...", help="Reviewed run folders of one sheet.")
    ],
    sheet: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="The sheet to change; unless the runs used the same."),
    ] = None,
) -> None:
    """Propose changes of a run sheet from decided findings.

    A diff for patch on stdout, with the rows that each change comes from. Changes no file.
    """
    from voxlog.learn.learn import learn as propose

    learnt = propose(folders, sheet)
    for line in learnt.proposed:
        typer.echo(f"# proposed: {line}")
    for line in learnt.left_out:
        typer.echo(f"# not proposed: {line}")
    if not learnt.diff:
        typer.echo("# nothing to propose")
    typer.echo(learnt.diff, nl=False)
