"""A real sound server for tests: PulseAudio with a sink that nobody hears, and its monitor.

What is played into the sink is what a recorder of the monitor gets. No card, kernel module or
session is needed. `why_not` says what is missing where it cannot be had.
"""

import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

CHANNEL_NAMES = ("front-left", "front-right", "rear-left", "rear-right")
RATE = 16_000
LATENCY_MS = 50  # at the two seconds of the default, nothing can be aligned
AHEAD_MS = 1000
"""What a file's player hands over in advance: on a busy machine it comes late by tenths of a
second, and the server then plays silence."""


def why_not() -> str:
    """Why no sound server can be started here; empty if one can."""
    missing = [name for name in ("pulseaudio", "pacat", "pactl") if shutil.which(name) is None]
    if missing:
        return (
            f"no {', '.join(missing)}: apt-get install --no-install-recommends"
            " libportaudio2 pulseaudio pulseaudio-utils libasound2-plugins"
        )
    try:
        import sounddevice  # noqa: F401
    except (ImportError, OSError) as error:
        return f"no PortAudio: {error}"
    return ""


class SoundServer:
    """One server in a folder of its own.

    `environment` is that of every program that is to use it; `device` the name of the input then.
    """

    device = "pulse"

    def __init__(self, folder: Path, channels: int) -> None:
        self._home = folder
        self._channels = channels
        self._server: subprocess.Popen[bytes] | None = None
        self._keep_alive: subprocess.Popen[bytes] | None = None
        self.environment = {
            **os.environ,
            "HOME": str(folder),
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_LATENCY_MSEC": "50",
        }
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        names = ",".join(CHANNEL_NAMES[:channels])
        (folder / "run.pa").write_text(
            "load-module module-native-protocol-unix\n"
            f"load-module module-null-sink sink_name=intercom rate={RATE}"
            f" channels={channels} channel_map={names}\n"
            "set-default-sink intercom\n"
            "set-default-source intercom.monitor\n",
            encoding="utf-8",
        )

    def start(self) -> None:
        """An idle sink's clock stands still, so silence is played into it all the time."""
        command = ["pulseaudio", "-n", "-F", str(self._home / "run.pa"), "--daemonize=no"]
        command += ["--exit-idle-time=-1", "--use-pid-file=no", "--log-target=null"]
        self._server = subprocess.Popen(
            command, env=self.environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        self._wait_until_it_answers()
        silence = self._player("/dev/zero", LATENCY_MS)
        self._keep_alive = subprocess.Popen(silence, env=self.environment)

    def stop(self) -> None:
        """At once and without a farewell, as when a plug is pulled."""
        for process in (self._keep_alive, self._server):
            if process is not None:
                process.kill()
                process.wait()
        self._keep_alive = self._server = None

    def play(self, raw: Path) -> None:
        """Plays a file of bare 16-bit samples to its end."""
        subprocess.run(self._player(str(raw), AHEAD_MS), env=self.environment, check=True)

    def listeners(self) -> int:
        """How many take audio from it at this moment."""
        asked = ["pactl", "list", "short", "source-outputs"]
        got = subprocess.run(asked, env=self.environment, capture_output=True, check=True)
        return len(got.stdout.splitlines())

    def _player(self, raw: str, ahead_ms: int) -> list[str]:
        names = ",".join(CHANNEL_NAMES[: self._channels])
        command = ["nice", "-n", "-10", "pacat", "--playback", "-d", "intercom"]
        command += [f"--latency-msec={ahead_ms}", f"--rate={RATE}", "--format=s16le"]
        command += [f"--channels={self._channels}", f"--channel-map={names}"]
        return [*command, "--raw", raw]

    def _wait_until_it_answers(self) -> None:
        for _ in range(100):
            asked = subprocess.run(
                ["pactl", "info"], env=self.environment, capture_output=True, check=False
            )
            if asked.returncode == 0:
                return
            time.sleep(0.05)
        raise RuntimeError("the sound server does not answer")


@contextmanager
def sound_server(folder: Path, channels: int) -> Iterator[SoundServer]:
    server = SoundServer(folder, channels)
    server.start()
    try:
        yield server
    finally:
        server.stop()
