"""Recognise a recording's speech with all cores, in order."""

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from itertools import islice

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.speech.lockstep import in_lockstep
from voxlog.speech.rejoin import Listened, rejoined
from voxlog.speech.utterance import Utterance

__all__ = ["Recognise", "listen", "thread_count"]

Floats = NDArray[np.float32]
Speech = tuple[Segment, Floats]
Recognise = Callable[[Segment, Floats], tuple[Utterance, ...]]

GROUP = 8
"""Segments that one thread listens to side by side (speech/lockstep.py)."""
WAITING_PER_THREAD = 1
"""Groups that wait for a free thread: enough to keep it busy, few enough to hold in memory."""


def listen(
    recognise: Recognise,
    speech: Iterable[Speech],
    at: Callable[[float], None],
    threads: int | None = None,
) -> Iterator[Utterance]:
    """Recognise segments on several cores; utterances in the order of their segments a channel.

    recognise: turns a segment and its samples into utterances; called from several threads at once.
    at: called with the end of each group of segments in seconds as it is done. threads: as many as there are
    cores, unless said. Each keeps one core busy: the arithmetic libraries are told not to start
    threads of their own.
    """
    with threadpool_limits(1):
        found = _listened(recognise, speech, at, threads or thread_count())
        for listened in rejoined(found, recognise):
            yield from listened.utterances


def _listened(
    recognise: Recognise, speech: Iterable[Speech], at: Callable[[float], None], threads: int
) -> Iterator[Listened]:
    with ThreadPoolExecutor(threads) as pool:
        waiting: deque[Future[list[Listened]]] = deque()
        for group in _grouped(iter(speech)):
            waiting.append(pool.submit(_together, recognise, group))
            if len(waiting) > WAITING_PER_THREAD * threads:
                yield from _next(waiting, at)
        while waiting:
            yield from _next(waiting, at)


def _grouped(speech: Iterator[Speech]) -> Iterator[list[Speech]]:
    while group := list(islice(speech, GROUP)):
        yield group


def _together(recognise: Recognise, group: Sequence[Speech]) -> list[Listened]:
    found = in_lockstep([partial(recognise, *one) for one in group])
    return [Listened(*one, heard) for one, heard in zip(group, found, strict=True)]


def _next(waiting: deque[Future[list[Listened]]], at: Callable[[float], None]) -> list[Listened]:
    group = waiting.popleft().result()
    at(group[-1].segment.end / RATE)
    return group


def thread_count() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
