"""`voxlog verify`: is a run folder as it was written?"""

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["CHANGED", "verify"]

CHANGED = 1


def verify(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The run folder.")],
) -> None:
    """Prove that a run folder is unchanged.

    Exit 0 if it is, and print its seal; exit 1 if not, with the first bad line first. Keep the seal
    elsewhere: a log written anew from its first line has another.
    """
    from voxlog.log.verify import verify as check

    report = check(folder)
    for problem in report.problems:
        typer.echo(f"{folder}: {problem}")
    if not report.is_whole:
        raise typer.Exit(CHANGED)
    typer.echo(f"{folder}: whole, {report.event_count} rows\nseal {report.seal}")
    for name in report.unchecked:
        typer.echo(f"not checked, because it is not there: {name}")
