"""The device program over a stand-in for sounddevice, as a program of its own.

`fake_program("hang closing")` is the command to start in its place.
"""

import fcntl
import os
import sys
import time
from pathlib import Path

from tests.capture.fake_sounddevice import FakeSounddevice, PortAudioError
from voxlog.capture import device_program

ROOT = Path(__file__).parents[2]


def fake_program(*what: str, lock: Path | None = None) -> tuple[str, ...]:
    """For `opening.PROGRAM`. The program holds the lock for as long as it is there."""
    code = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
        f"from tests.capture.fake_program import run; run({what!r}, {str(lock or '')!r})"
    )
    return (sys.executable, "-c", code)


def run(what: tuple[str, ...], lock: str) -> None:
    if lock:
        fcntl.flock(os.open(lock, os.O_RDWR | os.O_CREAT), fcntl.LOCK_EX)
    fake = FakeSounddevice()
    sys.modules["sounddevice"] = fake  # type: ignore[assignment]
    if "silent" in what:
        fake.silent.set()
    if "refuse" in what or ("refuse 1" in what and sys.argv[1] == "1"):
        fake.on_open = refuse
    if "hang opening" in what:
        fake.on_open = hang
    if "hang closing" in what:
        fake.on_abort = hang
    if "impatient" in what:
        device_program.LAST_SECONDS = 0.5
    os._exit(device_program.main(sys.argv[1:]))


def refuse() -> None:
    """With what ALSA writes beside it."""
    for descriptor in (1, 2):
        os.write(descriptor, b"ALSA lib pcm.c: Unknown PCM\nExpression 'r' failed in 'alsa.c'\n")
    raise PortAudioError("Error opening InputStream: Device unavailable [PaErrorCode -9985]")


def hang() -> None:
    while True:
        time.sleep(60)
