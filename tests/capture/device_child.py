"""Run as a program: records a device into a journal until its standard input ends.

python -m tests.capture.device_child DEVICE CHANNELS FOLDER

Says "ready" with the first block, "away" and "back" with the device, and each loss.
"""

import sys
import threading
import time
from pathlib import Path

from voxlog.capture.device import DeviceSource
from voxlog.capture.journal import Journal


def say(*words: object) -> None:
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


def stop_at_end_of_input(source: DeviceSource) -> None:
    sys.stdin.read()
    source.stop()


def watch(source: DeviceSource) -> None:
    fault = ""
    while True:
        if bool(source.fault) != bool(fault):
            say("away" if source.fault else "back")
            fault = source.fault
        time.sleep(0.02)


def main() -> None:
    source = DeviceSource(sys.argv[1], int(sys.argv[2]))
    journal = Journal(Path(sys.argv[3]), source.channels, source.rate)
    threading.Thread(target=stop_at_end_of_input, args=(source,), daemon=True).start()
    threading.Thread(target=watch, args=(source,), daemon=True).start()
    for block in source.blocks():
        if block.first == 0:
            say("ready")
        if block.lost:
            say("lost", block.first, block.lost)
        journal.push(block)
    say("end", journal.close())


if __name__ == "__main__":
    main()
