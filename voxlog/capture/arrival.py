"""Where in time a device's blocks belong: the index of each, and what was lost before it. Pure.

Devices drop samples and do not always say so (and say so when nothing is missing), and one that was
away does not say for how long. The monotonic clock does.
"""

from collections import deque

__all__ = ["Arrivals"]

WINDOW_NS = 2_000_000_000
"""A hold-up shorter than this is no loss: the blocks held up come after it, all at once."""

LEAST_LOSS_NS = 100_000_000
"""What the clock alone must show missing. Less would be taken from the machine being busy."""


class Arrivals:
    """Counts samples from the start, lost ones too.

    A block's lateness is its arrival less the time at which its last sample was due. It jumps about
    with the machine's load, but the least of two seconds stays where it is, moved only by the
    clocks' drift, unless samples are missing: then it stays higher by what they last.

    Args:
        rate: samples a second.
    """

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self._next = 0
        self._recent: deque[tuple[int, int]] = deque()  # (arrival, lateness) of this window
        self._usual_ns: int | None = None  # the least lateness of a window before

    def place(self, count: int, arrived_ns: int, dropped: int = 0) -> tuple[int, int]:
        """Takes the next block: (its first sample's index, samples lost before it).

        Args:
            count: samples in it.
            arrived_ns: the monotonic clock when it came.
            dropped: samples before it that are known to be lost.
        """
        late_ns = self._lateness(count + dropped, arrived_ns)
        missing = self._missing(arrived_ns, late_ns)
        return self._put(count, dropped + missing)

    def place_after_gap(self, count: int, arrived_ns: int) -> tuple[int, int]:
        """The same for the first block after the device was opened again.

        It goes by the lateness before the gap: the last blocks then may have come late themselves.
        """
        usual_ns = self._usual_ns
        if usual_ns is None:
            usual_ns = min((late for _, late in self._recent), default=None)
        late_ns = self._lateness(count, arrived_ns)
        lost = 0 if usual_ns is None else max(0, round((late_ns - usual_ns) * self._rate / 1e9))
        self._recent.clear()
        self._usual_ns = None
        return self._put(count, lost)

    def _put(self, count: int, lost: int) -> tuple[int, int]:
        first = self._next + lost
        self._next = first + count
        return first, lost

    def _lateness(self, count: int, arrived_ns: int) -> int:
        return arrived_ns - (self._next + count) * 1_000_000_000 // self._rate

    def _missing(self, arrived_ns: int, late_ns: int) -> int:
        """Samples that the clock shows missing; found some two seconds after they were lost."""
        self._recent.append((arrived_ns, late_ns))
        if arrived_ns - self._recent[0][0] < WINDOW_NS:
            return 0
        least_ns = min(late for _, late in self._recent)
        usual_ns, self._usual_ns = self._usual_ns, least_ns
        self._recent.clear()
        if usual_ns is None or least_ns - usual_ns < LEAST_LOSS_NS:
            return 0
        self._usual_ns = usual_ns
        return round((least_ns - usual_ns) * self._rate / 1e9)
