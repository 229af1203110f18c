"""How soon a row would be in the log if the machine did nothing else: processor time as time.

A run is listened to as `live/session.py` does it, but the clock is the audio's, moved on by the
processor time that the program took. So a busy machine gives nearly the figures of an idle one.
Not in it: what a device and the disk take, some 0.15 s.
"""

import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import TypeVar

import numpy as np
from threadpoolctl import threadpool_limits

from voxlog.audio import RATE
from voxlog.audio.recording import open_recording
from voxlog.audio.segmenting import Segmenter, Speech
from voxlog.live.follower import LiveFollower
from voxlog.live.hearing import Hearing
from voxlog.live.listener import Listener
from voxlog.live.provisional import Difference
from voxlog.live.session import Latency

__all__ = ["latencies_of"]

BLOCK = RATE // 20
"""As a device's."""

T = TypeVar("T")


class Clock:
    """Seconds of the recording at which something would be done."""

    def __init__(self) -> None:
        self.now = 0.0

    def timed(self, work: Callable[[], T]) -> T:
        began = time.process_time()
        done = work()
        self.now += time.process_time() - began
        return done

    def wait_for(self, seconds: float) -> None:
        self.now = max(self.now, seconds)


def latencies_of(
    listener: Listener, audio: Path, seconds: float
) -> tuple[list[Latency], Difference]:
    """Of each stretch of speech in the beginning of a recording; provisional against final."""
    [samples] = [np.concatenate(list(open_recording([audio]).blocks()), axis=1)]
    samples = samples[:, : round(seconds * RATE)]
    follower = LiveFollower(listener.sheet, listener.phrases)
    hearing = Hearing(listener.attempts, listener.answered)
    clock = Clock()
    found: list[Latency] = []
    with threadpool_limits(1):
        for speech, ahead in _as_it_comes(samples, clock):
            found += (
                _heard(one, hearing, follower, clock)
                for one in speech
                if not hearing.is_known(one[0])
            )
            for one in ahead:
                clock.timed(partial(hearing.begin, *one))
    follower.finish(samples.shape[1] / RATE)
    return found, follower.difference()


def _as_it_comes(samples: np.ndarray, clock: Clock) -> Iterator[tuple[list[Speech], list[Speech]]]:
    """What may be listened to, and ahead, each time the clock lets more audio be there."""
    segmenter = Segmenter(len(samples))
    taken = 0
    while taken < samples.shape[1]:
        clock.wait_for((taken + BLOCK) / RATE)
        there = min(samples.shape[1], int(clock.now * RATE + 1) // BLOCK * BLOCK)
        block = samples[:, taken : max(there, taken + 1)]
        taken += block.shape[1]
        ready = clock.timed(partial(segmenter.push, block))
        pending = clock.timed(segmenter.pending)
        speech = sorted([*ready, *pending], key=lambda one: (one[0].start, one[0].channel))
        yield speech, segmenter.perhaps_over()


def _heard(one: Speech, hearing: Hearing, follower: LiveFollower, clock: Clock) -> Latency:
    segment, audio = one
    end = segment.bursts[-1][1] / RATE
    news = hearing.hear(segment, audio)
    first: float | None = None
    while (told := clock.timed(lambda: next(news, None))) is not None:
        push = partial(follower.push, *told.heard, instead_of=told.instead_of, is_settled=False)
        clock.timed(push)
        first = clock.now if first is None else first
    clock.timed(lambda: follower.tick(end))
    voiced = sum(last - start for start, last in segment.bursts) / RATE
    return Latency(voiced, (first or clock.now) - end, clock.now - end)
