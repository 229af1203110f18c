"""The screen in a real terminal: a pseudo-terminal whose bytes are read back."""

import io
import os
import pty
import signal
import sys
import time
from pathlib import Path

import pytest
from rich.console import Console

from tests.display.usual import usual
from voxlog.display.choose import open_display
from voxlog.display.layout import layout
from voxlog.display.plain import PlainDisplay
from voxlog.display.screen import RunScreen, Screen

termios = pytest.importorskip("termios", reason="terminals of this kind are those of Unix")
import fcntl  # noqa: E402
import struct  # noqa: E402

ROOT = Path(__file__).parents[2]
PROGRAM = """
import sys, time
from tests.display.usual import usual
from voxlog.display.choose import open_display
with open_display() as display:
    for _ in range(int(sys.argv[1])):
        display.show(usual())
        time.sleep(0.05)
print("the end")
"""


def console(width: int, height: int, **more: object) -> Console:
    return Console(
        file=io.StringIO(),
        force_terminal=True,
        width=width,
        height=height,
        legacy_windows=False,
        **more,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize("size", [(80, 24), (160, 50), (30, 8), (1, 1)])
def test_what_is_drawn_is_the_layout(size: tuple[int, int]) -> None:
    drawn = console(*size).render_lines(RunScreen(usual()), pad=False)
    text = ["".join(segment.text for segment in line).rstrip() for line in drawn]
    assert text == [line.plain.rstrip() for line in layout(usual(), *size)]


@pytest.mark.parametrize("size", [(80, 24), (40, 12)])
def test_a_new_size_is_taken_up_at_the_next_state(size: tuple[int, int]) -> None:
    terminal = console(160, 50)
    with Screen(terminal) as screen:
        screen.show(usual())
        terminal.size = size  # type: ignore[assignment]
        terminal.file = io.StringIO()
        screen.show(usual())
        drawn = terminal.file.getvalue()
    assert drawn.count("\n") == size[1] - 1
    assert "OPERATOR" in drawn or "▀" in drawn


def test_without_colours_what_matters_is_reversed_and_marked() -> None:
    terminal = console(80, 24, no_color=True, color_system="standard")
    terminal.print(RunScreen(usual(gate="open: item 12, visor")))
    drawn = terminal.file.getvalue()  # type: ignore[attr-defined]
    assert "\x1b[1;7m !! GATE" in drawn
    assert "31" not in {code for part in drawn.split("\x1b[")[1:] for code in part[:6].split(";")}


class Broken(io.StringIO):
    """A terminal that goes away after it was opened."""

    is_broken = False

    def write(self, text: str) -> int:
        if self.is_broken:
            raise OSError(5, "Input/output error")
        return super().write(text)


def test_a_terminal_that_goes_away_does_not_end_the_run() -> None:
    file = Broken()
    with Screen(Console(file=file, force_terminal=True, width=80, height=24)) as screen:
        screen.show(usual())
        file.is_broken = True
        screen.show(usual())
        screen.show(usual())


@pytest.mark.parametrize(
    ("plain", "term", "is_terminal"),
    [(True, "xterm", True), (False, "dumb", True), (False, "xterm", False)],
)
def test_plain_lines_where_a_screen_will_not_do(
    plain: bool, term: str, is_terminal: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", term)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: is_terminal, raising=False)
    assert isinstance(open_display(plain=plain), PlainDisplay)


class Terminal:
    """The program in a pseudo-terminal of a given size."""

    def __init__(self, rounds: int, width: int = 80, height: int = 24, term: str = "xterm") -> None:
        self.pid, self.master = pty.fork()
        if self.pid == 0:
            os.chdir(ROOT)
            environment = {**os.environ, "TERM": term}
            for name in ("NO_COLOR", "COLUMNS", "LINES", "FORCE_COLOR", "TTY_COMPATIBLE"):
                environment.pop(name, None)
            os.execve(sys.executable, [sys.executable, "-c", PROGRAM, str(rounds)], environment)
        self.resize(width, height)
        self.output = b""

    def resize(self, width: int, height: int) -> None:
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", height, width, 0, 0))

    def read_until(self, wanted: bytes, start: int = 0) -> None:
        deadline = time.monotonic() + 20
        while wanted not in self.output[start:]:
            assert time.monotonic() < deadline, self.output[-2000:]
            self.output += os.read(self.master, 65536)

    def end(self) -> int:
        try:
            while more := os.read(self.master, 65536):
                self.output += more
        except OSError:  # the other end is closed
            pass
        os.close(self.master)
        return os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])


ALTERNATE, NORMAL = b"\x1b[?1049h", b"\x1b[?1049l"


@pytest.mark.slow
def test_the_alternate_screen_is_left_as_it_was_and_keys_do_nothing() -> None:
    terminal = Terminal(rounds=40)
    terminal.read_until(b"RECORDING")
    modes = termios.tcgetattr(terminal.master)
    assert not modes[3] & termios.ECHO
    # Stop output, suspend, quit, and a command with its return: none may have an effect.
    os.write(terminal.master, b"\x13\x1a\x1czqz\n")
    assert terminal.end() == 0
    before, _, after = terminal.output.partition(ALTERNATE)
    drawn, _, rest = after.partition(NORMAL)
    assert b"RECORDING" not in before
    assert drawn.count(b"RECORDING") == 40
    assert b"zqz" not in drawn + rest
    assert rest.strip().endswith(b"the end")


@pytest.mark.slow
def test_a_resized_terminal_is_filled() -> None:
    terminal = Terminal(rounds=60)
    terminal.read_until(b"clipping")
    start = len(terminal.output)
    terminal.resize(160, 50)
    terminal.read_until("██████".encode() + b" " * 4, start)  # only at twice the size
    assert terminal.end() == 0


@pytest.mark.slow
def test_control_c_leaves_the_alternate_screen() -> None:
    terminal = Terminal(rounds=400)
    terminal.read_until(b"clipping")
    os.write(terminal.master, b"\x03")
    assert terminal.end() == -signal.SIGINT
    assert NORMAL in terminal.output


@pytest.mark.slow
def test_a_dumb_terminal_gets_lines() -> None:
    terminal = Terminal(rounds=2, term="dumb")
    assert terminal.end() == 0
    assert b"\x1b" not in terminal.output
    assert b"42:15 due: item 14, oxygen supply pressure, operator\r\n" in terminal.output
