"""A device program that does as it is told at each start: gives, hangs, dies, refuses.

A start is a line of Python in which these can be called:

    opened(rate)    answers: a device of two channels
    give(n)         gives n blocks of 800 samples, 0, 1, 2, ... in each channel; 5 ms each
    give_on()       gives blocks until its input ends
    half()          gives half a block
    hang()          does nothing, whatever it is told; not even its input's end ends it
    die()           ends at once
    refuse(why)     answers that it cannot be opened
"""

import sys
from pathlib import Path

import pytest

from voxlog.capture import opening

ROOT = Path(__file__).parents[2]

PROGRAM = """
import io, os, signal, sys, threading, time
sys.path.insert(0, {root!r})
import numpy as np
from voxlog.capture.wire import (
    Arrival, Input, write_answer, write_arrival, write_refusal
)
for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
    signal.signal(number, signal.SIG_IGN)
asked = Input.of(sys.argv[1:])
out = sys.stdout.buffer
first = 0
ended = threading.Event()

def opened(rate=16_000):
    write_answer(out, Input("Desk interface", asked.channels or 2, "ALSA", rate))

def block():
    global first
    samples = np.arange(first, first + 800, dtype=np.int64) % 32_768
    first += 800
    samples = np.repeat(samples.astype(np.int16)[:, None], asked.channels or 2, axis=1)
    return Arrival(samples, time.monotonic_ns(), time.time_ns(), 0)

def give(count):
    for _ in range(count):
        time.sleep(0.005)
        write_arrival(out, block())

def give_on():
    threading.Thread(target=lambda: (sys.stdin.buffer.read(), ended.set()), daemon=True).start()
    while not ended.is_set():
        give(1)

def half():
    pipe = io.BytesIO()
    write_arrival(pipe, block())
    out.write(pipe.getvalue()[:500])
    out.flush()

def hang():
    while True:
        time.sleep(60)

def die():
    os._exit(9)

def refuse(why):
    write_refusal(out, why)

starts = {starts!r}
with open({record!r}, "a+") as record:
    record.seek(0)
    number = len(record.readlines())
    print(os.getpid(), *map(repr, asked), file=record)
os.write(2, b"ALSA lib pcm.c: chatter\\n")
exec(starts[min(number, len(starts) - 1)])
os._exit(0)
"""


class Scripted:
    """The starts that there were."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, folder: Path, *starts: str) -> None:
        """The last one is for all after it."""
        self._record = folder / "starts.txt"
        program = folder / "program.py"
        text = PROGRAM.format(root=str(ROOT), starts=starts, record=str(self._record))
        program.write_text(text, encoding="utf-8")
        monkeypatch.setattr(opening, "PROGRAM", (sys.executable, str(program)))

    def asked(self) -> list[str]:
        """What each start was to open."""
        return [line.split(" ", 1)[1] for line in self._lines()]

    def processes(self) -> list[int]:
        return [int(line.split()[0]) for line in self._lines()]

    def _lines(self) -> list[str]:
        if not self._record.exists():
            return []
        return self._record.read_text(encoding="utf-8").splitlines()
