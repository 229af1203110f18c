"""Run as a program: keeps noise in real time until it is killed, and says how far it has come.

python -m tests.capture.journal_child FOLDER CHANNELS
"""

import sys
import time
from pathlib import Path

from tests.capture.blocks import RATE, noise
from voxlog.capture.block import Block
from voxlog.capture.journal import Journal

SIZE = RATE // 20


def main() -> None:
    folder, channels = Path(sys.argv[1]), int(sys.argv[2])
    samples = noise(channels, 60 * RATE)
    journal = Journal(folder, channels, RATE)
    started = time.monotonic_ns()
    for first in range(0, samples.shape[1], SIZE):
        due_s = (first + SIZE) / RATE - (time.monotonic_ns() - started) / 1e9
        time.sleep(max(0.0, due_s))
        clock = time.monotonic_ns()
        journal.push(Block(samples[:, first : first + SIZE], first, clock, clock))
        sys.stdout.write(f"{first + SIZE}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
