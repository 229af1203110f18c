"""`voxlog demo`: the whole job on the recording that comes with voxlog."""

from itertools import count
from pathlib import Path
from typing import Annotated

import typer

from voxlog.cli.debrief import leave_debrief
from voxlog.cli.log import log_with_progress
from voxlog.cli.options import MODEL, cache_folder
from voxlog.cli.score import print_score
from voxlog.cli.shipped import shipped

__all__ = ["demo"]

SHEET = "grammars/demo.yaml"
RECORDING = "samples_synthetic/demo.flac"
TRUTH = "samples_synthetic/demo.truth.csv"


def demo(
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="Run folder to make. Default: voxlog-demo, or voxlog-demo-2, ..."
        ),
    ] = None,
) -> None:
    """Log the shipped recording and score the log.

    The recording is synthetic: four voices, about four minutes, with planted deviations.
    """
    from rich.console import Console

    from voxlog.cli.result import print_result
    from voxlog.pipeline import LogRequest

    folder = out or _free_folder()
    request = LogRequest((shipped(RECORDING),), shipped(SHEET), folder, MODEL, cache_folder())
    truth = shipped(TRUTH)
    result = log_with_progress(request)
    print_result(Console(highlight=False), folder, result)
    leave_debrief(folder)
    typer.echo("\nThe same log against what was really said:\n")
    print_score(folder, truth)
    typer.echo(f"\nThe log as a table: {folder / 'events.csv'}. Next: voxlog verify {folder}")


def _free_folder() -> Path:
    """A name nobody has taken, so that the demonstration can be run again."""
    names = ("voxlog-demo" if n == 1 else f"voxlog-demo-{n}" for n in count(1))
    return next(path for path in map(Path, names) if not path.exists())
