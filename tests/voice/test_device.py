"""A real output: a sound server's sink, listened to at its monitor."""

import subprocess
import threading
import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.capture.sound_server import RATE, SoundServer, sound_server, why_not
from voxlog.errors import InputError
from voxlog.voice.output import DeviceOutput
from voxlog.voice.own_voice import LONGEST_DELAY
from voxlog.voice.speech import MISSING, load_speech
from voxlog.voice.tone import tone
from voxlog.voice.voice import Voice

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(why_not() != "", reason=why_not() or "there is one"),
]


class Monitor:
    """What the sink plays, with the moment at which each piece arrived."""

    def __init__(self, server: SoundServer) -> None:
        command = ["parec", "--latency-msec=20", "-d", "intercom.monitor", f"--rate={RATE}"]
        self._parec = subprocess.Popen(
            [*command, "--channels=1", "--format=s16le", "--raw"],
            stdout=subprocess.PIPE,
            env=server.environment,
        )
        self.pieces: list[tuple[int, Any]] = []
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()
        while not self.pieces:
            time.sleep(0.01)

    def _read(self) -> None:
        assert self._parec.stdout is not None
        while piece := self._parec.stdout.read(320):  # 10 ms
            self.pieces.append((time.monotonic_ns(), np.frombuffer(piece, dtype="<i2")))

    def close(self) -> None:
        self._parec.kill()
        self._parec.wait()
        self._thread.join()
        assert self._parec.stdout is not None
        self._parec.stdout.close()

    def loud(self) -> list[int]:
        """When something was heard."""
        return [when for when, piece in self.pieces if np.max(np.abs(piece)) > 300]


@pytest.fixture
def server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundServer]:
    with sound_server(tmp_path / "server", channels=2) as running:
        for name in ("HOME", "XDG_RUNTIME_DIR", "PULSE_LATENCY_MSEC"):
            monkeypatch.setenv(name, running.environment[name])
        yield running


@pytest.mark.parametrize("rate", [16_000, 24_000, 22_050])
def test_what_is_played_is_heard_in_its_span(server: SoundServer, rate: int) -> None:
    monitor = Monitor(server)
    device = DeviceOutput(server.device)
    time.sleep(0.3)
    asked = time.monotonic_ns()
    played = device.play(np.tile(tone(rate), 4), rate)
    time.sleep(0.5)
    device.close()
    monitor.close()
    loud = monitor.loud()
    assert loud, "nothing was heard"
    print(
        f"{rate}: starts {(loud[0] - asked) / 1e6:.0f} ms after it is asked for, "
        f"{(loud[0] - played.start_ns) / 1e6:.0f} ms into its span; "
        f"ends {(loud[-1] - played.end_ns) / 1e6:.0f} ms after its span"
    )
    assert played.start_ns <= loud[0]
    assert loud[-1] <= played.end_ns + 1e9 * LONGEST_DELAY / RATE
    assert 0.8 < (loud[-1] - loud[0]) / 1e9 < 1.3  # four tones of 0.24 s


@pytest.mark.skipif(find_spec("hibari") is None, reason=MISSING)
def test_an_answer_starts_within_two_seconds_of_its_question(server: SoundServer) -> None:
    voice = Voice(DeviceOutput(server.device), load_speech())
    monitor = Monitor(server)
    took = []
    for minutes in range(3, 8):  # new words each time: nothing is kept ready
        asked = time.monotonic_ns()
        voice.answer(f"at 25,000 ft for {minutes} minutes")
        while not monitor.loud() or monitor.loud()[-1] < asked:
            time.sleep(0.02)
        took.append((next(t for t in monitor.loud() if t > asked) - asked) / 1e9)
        time.sleep(3.5)
    voice.close()
    monitor.close()
    print(f"answers start after {', '.join(f'{seconds:.2f}' for seconds in took)} s")
    assert max(took) < 1.0  # the recogniser needs the other second


def test_a_server_that_goes_and_comes_back(server: SoundServer) -> None:
    from voxlog.voice.output import OutputError

    device = DeviceOutput(server.device)
    device.play(tone(RATE), RATE)
    server.stop()
    with pytest.raises(OutputError):
        device.play(tone(RATE), RATE)
    server.start()
    device.play(tone(RATE), RATE)
    device.close()


def test_an_output_that_is_not_there(server: SoundServer) -> None:
    with pytest.raises(InputError, match=r"output no-such: no such output; there are: .*pulse"):
        DeviceOutput("no-such")
