"""The program that listens: which device it opens, what it passes on, and how it ends."""

import fcntl
import io
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

import numpy as np
import pytest

from tests.capture.fake_program import fake_program
from tests.capture.fake_sounddevice import FakeSounddevice, PortAudioError, install, wait_until
from tests.conftest import ROOT
from voxlog.capture import device_program as module
from voxlog.capture.device_program import Taken, open_input, pass_on
from voxlog.capture.wire import Arrival, Input, read_answer, read_arrival
from voxlog.errors import InputError

USB = "Desk interface: USB Audio (hw:1,0)"
DESK = "Desk microphone"


@pytest.fixture
def fake(monkeypatch: pytest.MonkeyPatch) -> Iterator[FakeSounddevice]:
    fake = install(monkeypatch)
    yield fake
    for stream in fake.streams:
        stream.abort()


@pytest.mark.parametrize(
    ("asked", "opened", "number"),
    [
        (Input(), Input(DESK, 1, "ALSA", 16_000), 2),
        (Input("usb"), Input(USB, 4, "ALSA", 16_000), 1),
        (Input("usb", 2), Input(USB, 2, "ALSA", 16_000), 1),
        (Input("2", 1), Input(DESK, 1, "ALSA", 16_000), 2),
        (Input(USB, 2, "ALSA", 48_000), Input(USB, 2, "ALSA", 48_000), 1),
    ],
)
def test_one_stream_takes_all_channels(
    asked: Input, opened: Input, number: int, fake: FakeSounddevice
) -> None:
    assert open_input(asked, Taken().take)[0] == opened
    (stream,) = fake.streams
    assert (stream.device, stream.channels) == (number, opened.channels)
    assert stream.rate == opened.rate


def test_where_16_khz_is_not_offered_it_is_the_devices_own_rate(fake: FakeSounddevice) -> None:
    fake.rates = {48_000}
    assert open_input(Input("usb"), Taken().take)[0].rate == 48_000


def test_what_was_open_is_found_by_name_and_host_under_any_number(fake: FakeSounddevice) -> None:
    """A part of the name is not enough, and the same name in another sound system is not it."""
    opened, _ = open_input(Input("usb", 2), Taken().take)
    elsewhere = {**fake.devices[1], "hostapi": 1}
    fake.hosts = ["ALSA", "JACK"]
    fake.devices = [fake.device(f"{USB} too", 4), elsewhere, fake.devices[2], fake.devices[1]]
    assert open_input(opened, Taken().take)[0] == opened
    assert fake.streams[-1].device == 3
    fake.devices.pop()
    with pytest.raises(InputError) as caught:
        open_input(opened, Taken().take)
    assert str(caught.value) == f"device {USB}: not there; see voxlog devices"


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (Input("headset"), "device headset: no such input; see voxlog devices"),
        (Input("2", 2), "device Desk microphone: has 1 channels and not 2; see voxlog devices"),
    ],
)
def test_what_cannot_be_had_is_one_line(asked: Input, message: str, fake: FakeSounddevice) -> None:
    with pytest.raises(InputError) as caught:
        open_input(asked, Taken().take)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (
            PortAudioError("Error opening InputStream: Device unavailable [PaErrorCode -9985]"),
            "Error opening InputStream: Device unavailable",
        ),
        (ValueError("no such dtype"), "no such dtype"),
    ],
)
def test_a_device_in_use_is_one_line(error: Exception, said: str, fake: FakeSounddevice) -> None:
    def refuse() -> None:
        raise error

    fake.on_open = refuse
    with pytest.raises(InputError) as caught:
        open_input(Input("2"), Taken().take)
    assert str(caught.value) == (
        f"device Desk microphone: cannot be opened ({said}); see voxlog devices"
    )


def passed_on(taken: Taken) -> list[Arrival]:
    pipe = io.BytesIO()
    taken.end()
    pass_on(taken, pipe)
    pipe.seek(0)
    return list(iter(lambda: read_arrival(pipe), None))


def test_what_comes_is_passed_on_with_its_clocks(fake: FakeSounddevice) -> None:
    """The fake's buffer is one for all blocks, so what is not copied would be overwritten."""
    taken = Taken()
    before = time.monotonic_ns(), time.time_ns()
    _, stream = open_input(Input("usb", 2), taken.take)
    wait_until(lambda: taken._queue.qsize() >= 4)
    stream.abort()
    got = passed_on(taken)
    after = time.monotonic_ns(), time.time_ns()
    assert [int(one.samples[0, 1]) for one in got[:4]] == [0, 800, 1600, 2400]
    assert got[0].samples.shape == (800, 2)
    assert not any(one.dropped for one in got)
    clocks = [one.monotonic_ns for one in got]
    assert clocks == sorted(clocks)
    assert before[0] < clocks[0] < clocks[-1] < after[0]
    assert before[1] <= got[0].wall_ns <= got[-1].wall_ns <= after[1]


def test_what_there_is_no_room_for_is_counted_and_told_with_the_next(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "QUEUE_BLOCKS", 3)
    taken = Taken()
    block = np.zeros((800, 1), dtype=np.int16)
    for _ in range(5):
        taken.take(block, 800, None, None)
    assert taken.next() is not None
    taken.take(block, 800, None, None)
    assert [one.dropped for one in passed_on(taken)] == [0, 0, 1600]


@contextmanager
def started(*what: str, lock: Path | None = None) -> Iterator[subprocess.Popen[bytes]]:
    with subprocess.Popen(
        (*fake_program(*what, lock=lock), *Input("usb", 2).arguments()),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    ) as program:
        try:
            yield program
        finally:
            program.kill()
            with suppress(OSError):
                out_of(program).close()


def out_of(program: subprocess.Popen[bytes]) -> IO[bytes]:
    assert program.stdout is not None
    return program.stdout


def close_input(program: subprocess.Popen[bytes]) -> None:
    assert program.stdin is not None
    program.stdin.close()


def test_signals_do_not_end_it_and_the_end_of_its_input_does() -> None:
    """A Ctrl-C is for the run to end, which wants all that was taken until then."""
    with started() as program:
        assert read_answer(out_of(program)) == Input(USB, 2, "ALSA", 16_000)
        for number in (signal.SIGINT, signal.SIGTERM):
            program.send_signal(number)
        for first in range(0, 8000, 800):
            arrival = read_arrival(out_of(program))
            assert arrival is not None
            assert arrival.samples[0, 0] == first
        close_input(program)
        while read_arrival(out_of(program)) is not None:
            pass
        assert program.wait(10) == 0


def test_a_refusal_is_all_it_says_whatever_a_driver_prints() -> None:
    with started("refuse") as program:
        with pytest.raises(InputError, match="Device unavailable"):
            read_answer(out_of(program))
        assert out_of(program).read() == b""
        assert program.wait(10) == 1


def test_a_driver_that_hangs_in_closing_keeps_nobody_waiting() -> None:
    with started("hang closing") as program:
        read_answer(out_of(program))
        close_input(program)
        while read_arrival(out_of(program)) is not None:
            pass
        assert program.poll() is None  # all is told, and it still closes


RECORDING = """
import sys, time
from voxlog.capture import opening
from voxlog.capture.wire import Input
opening.PROGRAM = {program!r}
one = opening.Opening(Input("usb"))
if {answers}:
    one.answer()
print("there", flush=True)
time.sleep(60)
"""


@pytest.mark.parametrize("what", [(), ("silent",), ("hang opening",), ("hang closing",)], ids=str)
def test_it_ends_when_its_recording_was_killed(what: tuple[str, ...], tmp_path: Path) -> None:
    lock = tmp_path / "lock"
    program = fake_program(*what, "impatient", lock=lock)
    code = RECORDING.format(program=program, answers="hang opening" not in what)
    with subprocess.Popen((sys.executable, "-c", code), cwd=ROOT, stdout=subprocess.PIPE) as one:
        assert out_of(one).readline() == b"there\n"
        wait_until(lambda: is_held(lock), 20)
        one.kill()
    wait_until(lambda: not is_held(lock), 20)


def is_held(lock: Path) -> bool:
    if not lock.exists():
        return False
    descriptor = os.open(lock, os.O_RDWR)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    finally:
        os.close(descriptor)
    return False


def test_it_starts_with_little() -> None:
    """It is started anew each second while a device is away."""
    code = (
        "import sys; import voxlog.capture.device_program;"
        "print(*sorted({name.split('.')[0] for name in sys.modules} - sys.stdlib_module_names))"
    )
    done = subprocess.run(
        (sys.executable, "-S", "-c", f"import sys; sys.path[:] = {sys.path!r}; {code}"),
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert {name for name in done.stdout.split() if name != "__main__"} == {"numpy", "voxlog"}
