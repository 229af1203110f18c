"""Run as a program: records the demonstration with a scripted listener until it is killed.

python -m tests.live.record_child HEARD OUT SPEED

Says how many samples the journal took, ten times a second.
"""

import sys
import threading
import time
from pathlib import Path

from tests.live.scripted import AUDIO, listener_of
from voxlog.audio.recording import open_recording
from voxlog.capture import journal
from voxlog.capture.block import Block
from voxlog.capture.rehearsal import Rehearsal
from voxlog.display.plain import PlainDisplay
from voxlog.live import record

taken = 0


class CountedJournal(journal.Journal):
    """Counts what it is given."""

    def push(self, block: Block) -> None:
        global taken  # noqa: PLW0603 - a program of its own
        super().push(block)
        taken = block.end


def report() -> None:
    while True:
        sys.stdout.write(f"{taken}\n")
        sys.stdout.flush()
        time.sleep(0.1)


def main() -> None:
    heard, out, speed = Path(sys.argv[1]), Path(sys.argv[2]), float(sys.argv[3])
    record.Journal = CountedJournal  # type: ignore[attr-defined]
    threading.Thread(target=report, daemon=True).start()
    source = Rehearsal(open_recording([AUDIO]), speed)
    with (out.parent / "shown.txt").open("w") as shown:
        display = PlainDisplay(shown)
        record.record_run(listener_of(heard), source, out, display, threading.Event())


if __name__ == "__main__":
    main()
