"""`voxlog debrief`, and the page that the commands which make a log leave beside it."""

from pathlib import Path
from typing import Annotated

import typer

from voxlog.errors import InputError

__all__ = ["debrief", "leave_debrief"]


def debrief(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The run folder.")],
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="The page to make. Default: debrief.html in DIR."),
    ] = None,
    *,
    no_clips: Annotated[
        bool, typer.Option("--no-clips", help="Without the sound of the findings: smaller.")
    ] = False,
) -> None:
    """Make the page of a run again.

    With the decisions of its review, if there are any.
    """
    from voxlog.debrief.write import write_debrief

    typer.echo(f"Debrief: {write_debrief(folder, out, with_clips=not no_clips)}")


def leave_debrief(folder: Path, *, quiet: bool = False) -> None:
    """Make debrief.html of a log just made. Whatever goes wrong is a warning: the log is whole.

    quiet: say nothing on stdout.
    """
    try:
        from voxlog.debrief.write import write_debrief

        place = write_debrief(folder)
    except (Exception, KeyboardInterrupt) as error:  # noqa: BLE001  # the log is done
        typer.echo(
            f"voxlog: no debrief was made ({_reason(error)}); the log is whole, "
            f"try again with voxlog debrief {folder}",
            err=True,
        )
        return
    if not quiet:
        typer.echo(f"Debrief: {place}")


def _reason(error: BaseException) -> str:
    """In one line; with its type for a bug, which somebody has to find."""
    if isinstance(error, KeyboardInterrupt):
        return "stopped"
    text = " ".join(str(error).split())
    return text if isinstance(error, InputError) else f"{type(error).__name__}: {text}"
