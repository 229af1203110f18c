"""The screen of a running run: the whole terminal, drawn anew for each state.

It never asks for a key, and a key hit by chance does nothing: while it is open nothing typed is
shown or kept, and the keys that stop output (Ctrl-S) or the program (Ctrl-Z and the quit key) are
off, so that no elbow on a keyboard ends a recording. Ctrl-C still does. A terminal that goes away
ends the display and not the run.
"""

import contextlib
from collections.abc import Iterator
from types import TracebackType
from typing import Self, TextIO

from rich.console import Console, ConsoleOptions, RenderResult
from rich.live import Live
from rich.text import Text

from voxlog.display.layout import layout
from voxlog.live.state import RunState

__all__ = ["RunScreen", "Screen"]


class RunScreen:
    """A state as rich draws it, in whatever size the terminal has at that moment."""

    def __init__(self, state: RunState) -> None:
        self._state = state

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The lines of the layout, one after another."""
        height = options.height or console.height
        lines = layout(self._state, options.max_width, height, is_ascii=options.ascii_only)
        yield Text("\n", end="", no_wrap=True, overflow="crop").join(lines)


class Screen:
    """Shows states on the terminal's alternate screen; a context manager.

    console: where to draw; a terminal. `show` may block for as long as the terminal does, so it
    belongs into a thread of its own. After an output error nothing more is drawn.
    """

    def __init__(self, console: Console, keyboard: TextIO | None = None) -> None:
        self._live = Live(console=console, screen=True, auto_refresh=False)
        self._keyboard = keyboard
        self._open = contextlib.ExitStack()
        self._is_gone = False

    def __enter__(self) -> Self:
        self._open.enter_context(_deaf(self._keyboard))
        with self._until_gone():
            self._live.start()
        return self

    def show(self, state: RunState) -> None:
        if not self._is_gone:
            with self._until_gone():
                self._live.update(RunScreen(state), refresh=True)

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        with self._until_gone():
            self._live.stop()
        self._open.close()

    @contextlib.contextmanager
    def _until_gone(self) -> Iterator[None]:
        try:
            yield
        except (OSError, ValueError):  # ValueError: the file behind the console is closed
            self._is_gone = True


@contextlib.contextmanager
def _deaf(keyboard: TextIO | None) -> Iterator[None]:
    """No echo, and no key that stops output or the program; only where there is such a thing."""
    try:
        import termios

        assert keyboard is not None
        terminal = keyboard.fileno()
        before = termios.tcgetattr(terminal)
    except (ImportError, AssertionError, OSError, ValueError, termios.error):
        yield
        return
    quiet = [*before[:6], list(before[6])]
    quiet[0] &= ~termios.IXON
    quiet[3] &= ~termios.ECHO
    disabled = b"\0"  # _POSIX_VDISABLE on Linux; a key that no keyboard sends elsewhere
    quiet[6][termios.VSUSP] = disabled
    quiet[6][termios.VQUIT] = disabled
    termios.tcsetattr(terminal, termios.TCSANOW, quiet)
    try:
        yield
    finally:
        with contextlib.suppress(termios.error, OSError, ValueError):
            # What was typed goes too, or the shell would run it.
            termios.tcsetattr(terminal, termios.TCSAFLUSH, before)
