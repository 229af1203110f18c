"""Recognise a recording's speech with all cores, in order."""

import ctypes
import os
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from itertools import islice
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.speech.lockstep import in_lockstep
from voxlog.speech.rejoin import Answered, Listened, rejoined
from voxlog.speech.utterance import Utterance

__all__ = ["Recognise", "listen", "side_by_side", "thread_count"]

_Heard = TypeVar("_Heard")

Floats = NDArray[np.float32]
Speech = tuple[Segment, Floats]
Recognise = Callable[[Segment, Floats], tuple[Utterance, ...]]

_M_ARENA_MAX, _M_MMAP_THRESHOLD, _M_TRIM_THRESHOLD = -8, -3, -1  # of glibc's malloc.h
GROUP = 8
"""Segments that one thread listens to side by side (speech/lockstep.py)."""
WAITING_PER_THREAD = 2
"""Groups that are begun or wait for a free thread, besides the one whose turn it is: enough to keep
all busy while a long one is waited for (with 1 they stood still for a tenth of the time), and few
enough to hold in memory."""

TURN = 0.0005
"""Seconds after which a thread hands Python's lock on if another waits for it. Python's own is
0.005, with which a log took 4 % longer (DEVELOPERS.md)."""


def listen(
    recognise: Recognise,
    answered: Answered,
    speech: Iterable[Speech],
    at: Callable[[float], None],
    threads: int | None = None,
) -> Iterator[Utterance]:
    """Recognise segments on several cores; utterances in the order of their segments a channel.

    recognise: turns a segment and its samples into utterances; called from several threads at once.
    answered: hears a segment for what was just asked; called from this thread. at: called with the
    end of each segment in seconds as it is done. threads: as many as there are cores, unless said.
    Each keeps one core busy: the arithmetic libraries are told not to start threads of their own.
    """

    def listened() -> Iterator[Listened]:
        for segment, audio, heard in side_by_side(recognise, speech, threads):
            at(segment.end / RATE)
            yield Listened(segment, audio, heard)

    _share_heaps()
    with threadpool_limits(1), _short_turns():
        for one in rejoined(listened(), recognise, answered):
            yield from one.utterances


def side_by_side(
    hear: Callable[[Segment, Floats], _Heard],
    speech: Iterable[Speech],
    threads: int | None = None,
) -> Iterator[tuple[Segment, Floats, _Heard]]:
    """Each segment, in order, with what is heard in it; several at a time on each core."""
    threads = threads or thread_count()
    segments = iter(speech)
    with ThreadPoolExecutor(threads) as pool:
        waiting: deque[tuple[list[Speech], Future[list[_Heard]]]] = deque()
        while group := list(islice(segments, GROUP)):
            calls = [partial(hear, *one) for one in group]
            waiting.append((group, pool.submit(in_lockstep, calls)))
            if len(waiting) > WAITING_PER_THREAD * threads:
                yield from _next(waiting)
        while waiting:
            yield from _next(waiting)


def _next(
    waiting: deque[tuple[list[Speech], Future[list[_Heard]]]],
) -> Iterator[tuple[Segment, Floats, _Heard]]:
    group, future = waiting.popleft()
    for (segment, audio), heard in zip(group, future.result(), strict=True):
        yield segment, audio, heard


def _share_heaps() -> None:
    """Have threads share two heaps, where the C library would give each its own.

    What is free in one heap is of no use to the others: 20 minutes took 830 MB, with this 650.
    Large arrays come from the heaps too, and what is freed stays there: else the system hands out
    the same pages again and again. What the loading of models has left free is given back first.
    """
    if sys.platform == "linux" and hasattr(libc := ctypes.CDLL(None), "mallopt"):
        libc.mallopt(_M_ARENA_MAX, 2)
        libc.mallopt(_M_MMAP_THRESHOLD, 32 << 20)
        libc.mallopt(_M_TRIM_THRESHOLD, 256 << 20)
        libc.malloc_trim(0)


@contextmanager
def _short_turns() -> Iterator[None]:
    """Have threads that wait for Python's lock get it sooner.

    One that comes back from a product needs it for a moment, to begin the next.
    """
    before = sys.getswitchinterval()
    sys.setswitchinterval(TURN)
    try:
        yield
    finally:
        sys.setswitchinterval(before)


def thread_count() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
