"""Records for the log, written by a thread of their own: whoever notes does not wait for a disk."""

import threading
from collections.abc import Callable, Mapping
from queue import SimpleQueue
from typing import Any

__all__ = ["Notes"]

Record = Mapping[str, Any]


class Notes:
    """Hands records on, in their order.

    The intake notes gaps and clocks; a disk that is slow to take a line would hold up the audio.

    Args:
        append: takes a record, as LiveLog.append does, and may take its time.
    """

    def __init__(self, append: Callable[[Record], object]) -> None:
        self._append = append
        self._waiting: SimpleQueue[Record | None] = SimpleQueue()
        self._thread = threading.Thread(target=self._write_all, name="notes", daemon=True)
        self._thread.start()

    def put(self, record: Record) -> None:
        self._waiting.put(record)

    def close(self) -> None:
        """Waits until all is written."""
        self._waiting.put(None)
        self._thread.join()

    def _write_all(self) -> None:
        while (record := self._waiting.get()) is not None:
            self._append(record)
