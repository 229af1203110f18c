"""Records reach the log in their order, and nobody waits for it."""

import threading
from typing import Any

from voxlog.live.notes import Notes


def test_a_log_that_stands_still_holds_up_nobody() -> None:
    written: list[Any] = []
    goes_on = threading.Event()

    def append(record: Any) -> None:
        goes_on.wait()
        written.append(record)

    notes = Notes(append)
    for number in range(100):
        notes.put({"number": number})
    assert written == []
    goes_on.set()
    notes.close()
    assert written == [{"number": number} for number in range(100)]
