"""A display that keeps what it was shown, and the plain lines of it."""

import io
from collections.abc import Callable
from types import TracebackType
from typing import Self

from voxlog.display.plain import PlainDisplay
from voxlog.live.state import RunState

__all__ = ["Shown"]


class Shown:
    """Used as the display of a run. look: called with each state, on the run's own thread."""

    def __init__(self, look: Callable[[RunState], object] = lambda state: None) -> None:
        self.states: list[RunState] = []
        self._lines = io.StringIO()
        self._plain = PlainDisplay(self._lines)
        self._look = look

    @property
    def lines(self) -> str:
        return self._lines.getvalue()

    def show(self, state: RunState) -> None:
        self.states.append(state)
        self._plain.show(state)
        self._look(state)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...
