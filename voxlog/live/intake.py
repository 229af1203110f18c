"""What comes in while a run goes: onto the disk first, then to whoever listens.

One thread takes the source's blocks. A block is given to the journal before anything else is done
with it; levels, clocks and the listener's queue come after, and none of them is waited for.
"""

import re
import threading
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voxlog.audio import RATE
from voxlog.capture.block import Block
from voxlog.capture.clock import AudioClock, ClockMark, MarkTaker, on_one_clock
from voxlog.capture.feed import Feed
from voxlog.capture.journal import Journal
from voxlog.capture.meter import Level, Meter
from voxlog.capture.source import Source
from voxlog.errors import InputError
from voxlog.log.live_log import clock_record, gap_record, note_record

__all__ = ["Intake"]

Floats = NDArray[np.float32]
Note = Callable[[Mapping[str, Any]], object]

PATIENT_BLOCKS = 40
"""Pieces of audio that may wait for the listener where the source can wait."""
LEVELS_EVERY = 20
"""Blocks between two looks at the levels' warnings: a second."""


class Intake:
    """Audio from one source.

    Args:
        source: gives the blocks.
        journal: keeps them.
        note: takes records for the log, from the intake's own thread; it must not wait for a disk.
        patient: the source can wait for the disk, as a rehearsal can and an intercom cannot.
        before: the clocks of a run that is taken up again, in samples of the source.
    """

    def __init__(
        self,
        source: Source,
        journal: Journal,
        note: Note,
        *,
        patient: bool = False,
        before: Sequence[Sequence[ClockMark]] = (),
    ) -> None:
        self.fault = ""
        self._source = source
        self._journal = journal
        self._note = note
        self._patient = patient
        self._feed = Feed(source.channels, source.rate)
        self._meter = Meter(source.channels, source.rate)
        self._marker = MarkTaker(source.rate)
        self._before = tuple(before)
        self._marks: list[ClockMark] = []
        self._levels: tuple[Level, ...] = ()
        self._warned: set[tuple[int, str]] = set()
        self._first: Block | None = None
        self._last: Block | None = None
        self._waiting: deque[Floats] = deque()
        self._changed = threading.Condition()
        self._is_stopping = False
        self._is_over = False
        self._thread = threading.Thread(target=self._work, name="intake", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Take what is there, and end."""
        self._is_stopping = True
        self._source.stop()
        with self._changed:
            self._changed.notify_all()

    def join(self) -> None:
        """Wait until everything that came was taken in."""
        self._thread.join()

    def take(self, patience_s: float) -> Floats | None:
        """The audio that came since the last call, (channels, n) at 16 kHz; may have no samples.

        None after the last. Waits at most `patience_s`.
        """
        with self._changed:
            self._changed.wait_for(lambda: self._waiting or self._is_over, patience_s)
            parts = list(self._waiting)
            self._waiting.clear()
            self._changed.notify_all()
            if not parts:
                empty = np.zeros((self._source.channels, 0), np.float32)
                return None if self._is_over else empty
        return np.concatenate(parts, axis=1)

    @property
    def seconds(self) -> float:
        """Recorded so far, that of a run that is taken up again included."""
        return 0.0 if self._last is None else self._last.end / self._source.rate

    @property
    def first_sample(self) -> int:
        """The index, at 16 kHz, of the first sample that `take` gives."""
        return 0 if self._first is None else self._at(self._first.first)

    @property
    def levels(self) -> tuple[Level, ...]:
        """Of each channel; none before the first second."""
        return self._levels

    @property
    def source_fault(self) -> str:
        """Why no audio comes, or none is kept, at this moment; "" when all is well."""
        return self.fault or self._source.fault or self._journal.fault

    def seconds_at(self, monotonic_ns: int) -> float:
        """The place in the recording of a moment of the machine's clock, by the last block."""
        last = self._last
        if last is None:
            return 0.0
        return self.seconds - (last.monotonic_ns - monotonic_ns) / 1e9

    def monotonic_ns_at(self, seconds: float) -> float:
        """The moment of a place in the recording; as exact as the last block's arrival."""
        last = self._last
        return 0 if last is None else last.monotonic_ns - (self.seconds - seconds) * 1e9

    def clock(self) -> AudioClock | None:
        """Dates for samples; None before the first mark."""
        marks = on_one_clock([*self._before, self._marks], self._source.rate)
        return AudioClock(self._source.rate, marks) if marks else None

    def _work(self) -> None:
        try:
            for block in self._source.blocks():
                self._take_in(block)
        except InputError as error:
            self._break_off(str(error))
        except Exception as error:  # noqa: BLE001 - what was recorded must be finished all the same
            self._break_off(f"{type(error).__name__}: {error}")
        self._hand_on(self._feed.finish())
        with self._changed:
            self._is_over = True
            self._changed.notify_all()

    def _break_off(self, why: str) -> None:
        self.fault = f"recording ended: {why}"
        self._note(note_record("warning", round(self.seconds * RATE), self.fault))

    def _take_in(self, block: Block) -> None:
        self._journal.push(block)
        self._last = block
        if self._first is None:
            # Whoever takes a run up again has told what is missing before.
            self._first = block
            block = replace(block, lost=0)
        if self._patient:
            self._journal.wait_for_room()
            self._wait_for_the_listener()
        for samples in self._feed.push(block):
            self._hand_on(samples)
        self._meter.push(block.samples)
        self._keep_time(block)
        self._tell(block)

    def _wait_for_the_listener(self) -> None:
        with self._changed:
            self._changed.wait_for(lambda: self._is_stopping or len(self._waiting) < PATIENT_BLOCKS)

    def _hand_on(self, samples: Floats) -> None:
        with self._changed:
            self._waiting.append(samples)
            self._changed.notify_all()

    def _keep_time(self, block: Block) -> None:
        mark = self._marker.push(block)
        if mark is not None:
            steps = len(self._steps())
            self._marks.append(mark)
            self._note(clock_record(self._at(mark.sample), mark.monotonic_ns, mark.wall_ns))
            for step in self._steps()[steps:]:
                text = f"the system's clock was set by {step.seconds:+.3f} s; utc goes on as before"
                self._note(note_record("warning", self._at(step.sample), text))

    def _steps(self) -> tuple[Any, ...]:
        clock = self.clock()
        return () if clock is None else clock.steps

    def _tell(self, block: Block) -> None:
        """What the log must know: missing audio, a disk that is full, a channel at fault."""
        if block.lost:
            first = self._at(block.first - block.lost)
            text = "no audio came from the device"
            self._note(gap_record(first, self._at(block.lost), text))
        self.tell_of_journal()
        if (block.first * 20 // self._source.rate) % LEVELS_EVERY == 0:
            self._levels = self._meter.levels()
            self._warn(block)

    def tell_of_journal(self) -> None:
        """Write down what the journal has to say; once more after it was closed."""
        for news in self._journal.take_news():
            first = self._at(news.first)
            if news.what == "lost":
                self._note(gap_record(first, self._at(news.samples), news.text))
            else:
                self._note(note_record("warning", first, news.text))

    def _warn(self, block: Block) -> None:
        """Each warning of a channel once, when it comes up; its figures go on changing."""
        now = {
            (number, _without_figures(level.warning)): f"channel {number}: {level.warning}"
            for number, level in enumerate(self._levels, 1)
            if level.warning
        }
        for warning in sorted(now.keys() - self._warned):
            self._note(note_record("warning", self._at(block.first), now[warning]))
        self._warned = set(now)

    def _at(self, sample: int) -> int:
        """A sample of the source on the log's clock."""
        return sample * RATE // self._source.rate


def _without_figures(text: str) -> str:
    return re.sub(r"[0-9]+", "", text)
