"""`voxlog review`: hear each finding and decide on it, in a browser on this machine."""

import sys
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["review"]


def review(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Run folder.")],
    as_: Annotated[
        str, typer.Option("--as", metavar="CODE", help="Your code, as in C-12; never a name.")
    ],
) -> None:
    """Hear each finding and decide on it, in a browser; Ctrl-C ends it.

    Prints an address that works once, on this machine. Decisions are added to review.jsonl in the
    run folder as they are made; the log is not changed.
    """
    from voxlog.review_page.serve import serve_review

    if sys.stderr.isatty():
        typer.echo("Open this address in a browser on this machine. Ctrl-C ends it.", err=True)
    serve_review(folder, as_, typer.echo)
