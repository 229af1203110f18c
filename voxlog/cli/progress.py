"""The progress bar: on stderr, and only where a person looks at it."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

__all__ = ["progress_bar"]

PREPARING = "the model; longer the first time"


@contextmanager
def progress_bar(doing: str = "Listening") -> Iterator[Callable[[float, float | None], None]]:
    """A bar from now to the end of the block; call what is given with what is done and in all.

    Before the first call it says that work is being prepared. It takes itself away at the end.
    """
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TaskProgressColumn(),
        TimeRemainingColumn(compact=True),
        TextColumn("{task.fields[note]}"),
    )
    console = Console(stderr=True)
    with Progress(
        *columns, console=console, transient=True, disable=not sys.stderr.isatty()
    ) as progress:
        task = progress.add_task("Preparing", total=None, note=PREPARING)

        def show(done: float, total: float | None) -> None:
            progress.update(task, description=doing, completed=done, total=total, note="left")

        yield show
