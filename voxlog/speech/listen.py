"""Recognise a recording's speech with all cores, in order."""

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.speech.rejoin import Listened, rejoined
from voxlog.speech.utterance import Utterance

__all__ = ["Recognise", "listen", "thread_count"]

Floats = NDArray[np.float32]
Speech = tuple[Segment, Floats]
Recognise = Callable[[Segment, Floats], tuple[Utterance, ...]]

WAITING_PER_THREAD = 4
"""Segments that wait for a free thread: enough to keep it busy, few enough to hold in memory."""


def listen(
    recognise: Recognise,
    speech: Iterable[Speech],
    at: Callable[[float], None],
    threads: int | None = None,
) -> Iterator[Utterance]:
    """Recognise segments on several cores; utterances in the order of their segments a channel.

    recognise: turns a segment and its samples into utterances; called from several threads at once.
    at: called with the end of each segment in seconds as it is done. threads: as many as there are
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
        waiting: deque[tuple[Segment, Floats, Future[tuple[Utterance, ...]]]] = deque()
        for segment, audio in speech:
            waiting.append((segment, audio, pool.submit(recognise, segment, audio)))
            if len(waiting) > WAITING_PER_THREAD * threads:
                yield _next(waiting, at)
        while waiting:
            yield _next(waiting, at)


def _next(
    waiting: deque[tuple[Segment, Floats, Future[tuple[Utterance, ...]]]],
    at: Callable[[float], None],
) -> Listened:
    segment, audio, future = waiting.popleft()
    found = future.result()
    at(segment.end / RATE)
    return Listened(segment, audio, found)


def thread_count() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
