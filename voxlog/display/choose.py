"""Which display suits where the output goes."""

import os
import sys
from types import TracebackType
from typing import Protocol, Self

from voxlog.display.plain import PlainDisplay
from voxlog.live.state import RunState

__all__ = ["Display", "open_display"]


class Display(Protocol):
    """Shows the states of a run; used in a `with`."""

    def __enter__(self) -> Self: ...

    def show(self, state: RunState) -> None:
        """Show this state instead of the last one. Never raises for what the output does."""

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...


def open_display(*, plain: bool = False) -> Display:
    """The screen on a terminal that can be drawn on; plain lines into files, pipes and the rest.

    plain: lines in any case.
    """
    is_dumb = os.environ.get("TERM", "").lower() in ("dumb", "unknown")
    if plain or is_dumb or not sys.stdout.isatty():
        return PlainDisplay(sys.stdout)
    from rich.console import Console

    from voxlog.display.screen import Screen

    return Screen(Console(), sys.stdin)
