"""Outputs: a file, and a player process that is good, fails, hangs or is killed."""

import sys
import time
import wave
from pathlib import Path

import numpy as np
import pytest

from voxlog.errors import InputError
from voxlog.voice import output
from voxlog.voice.output import DeviceOutput, FileOutput, OutputError

SOUND = np.arange(-500, 500, dtype=np.int16)

PLAYER = """
import sys, time
from voxlog.voice.player import serve
def play(samples, rate):
    {play}
{first}
print("ready", flush=True)
sys.exit(serve(sys.stdin.buffer, lambda line: print(line, flush=True), play))
"""


def player(play: str = "pass", first: str = "") -> tuple[str, ...]:
    return (sys.executable, "-c", PLAYER.format(play=play, first=first))


def test_a_device_plays_and_says_when() -> None:
    device = DeviceOutput(command=player("time.sleep(0.1)"))
    before = time.monotonic_ns()
    first, second = device.play(SOUND, 16_000), device.play(SOUND, 24_000)
    after = time.monotonic_ns()
    device.close()
    assert before < first.start_ns < first.end_ns <= second.start_ns < second.end_ns < after
    assert first.end_ns - first.start_ns >= 100_000_000


def test_all_samples_arrive(tmp_path: Path) -> None:
    """More than a pipe holds (64 KiB on Linux)."""
    file = tmp_path / "got"
    device = DeviceOutput(command=player(f"open({str(file)!r}, 'wb').write(samples.tobytes())"))
    sound = np.random.default_rng(1).integers(-32768, 32767, 200_000).astype(np.int16)
    device.play(sound, 24_000)
    device.close()
    assert np.array_equal(np.frombuffer(file.read_bytes(), dtype=np.int16), sound)


def test_an_output_that_is_not_there_is_bad_input() -> None:
    missing = 'print("failed output x: no such output; there are: 1 Headset"); sys.exit(1)'
    with pytest.raises(InputError, match=r"^output x: no such output; there are: 1 Headset$"):
        DeviceOutput(command=player(first=missing))


def test_a_failure_is_told_and_the_next_sound_starts_anew(tmp_path: Path) -> None:
    mark = tmp_path / "was here"
    once = f"p = __import__('pathlib').Path({str(mark)!r})\n    if not p.exists(): p.touch(); 1 / 0"
    device = DeviceOutput(command=player(once))
    with pytest.raises(OutputError, match="division by zero"):
        device.play(SOUND, 16_000)
    device.play(SOUND, 16_000)
    device.close()


def test_a_player_that_crashes_is_told() -> None:
    device = DeviceOutput(command=player("__import__('os')._exit(9)"))
    with pytest.raises(OutputError, match="the player ended"):
        device.play(SOUND, 16_000)
    device.close()


def test_a_player_that_hangs_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(output, "_PATIENCE_S", 0.3)
    device = DeviceOutput(command=player("time.sleep(60)"))
    hanging = device._player
    assert hanging is not None
    with pytest.raises(OutputError, match="hangs"):
        device.play(SOUND, 16_000)
    assert hanging.poll() is not None


def test_a_closed_device_leaves_no_process() -> None:
    device = DeviceOutput(command=player())
    process = device._player
    assert process is not None
    device.close()
    device.close()
    assert process.poll() is not None


def test_a_file_has_the_sounds_one_after_the_other(tmp_path: Path) -> None:
    path = tmp_path / "voice.wav"
    file = FileOutput(path)
    first, second = file.play(SOUND, 24_000), file.play(SOUND[::-1], 24_000)
    file.close()
    with wave.open(str(path), "rb") as wav:
        assert wav.getparams()[:4] == (1, 2, 24_000, 2_000)
        heard = np.frombuffer(wav.readframes(2_000), dtype="<i2")
    assert heard.tolist() == [*SOUND.tolist(), *SOUND[::-1].tolist()]
    assert first.end_ns - first.start_ns == pytest.approx(1e9 * 1000 / 24_000)
    assert second.start_ns >= first.start_ns


def test_a_file_may_take_as_long_as_a_device(tmp_path: Path) -> None:
    file = FileOutput(tmp_path / "voice.wav", speed=1.0)
    start = time.monotonic()
    file.play(np.zeros(2_400, dtype=np.int16), 24_000)
    assert time.monotonic() - start >= 0.1
    file.close()


def test_a_file_of_another_rate_is_refused(tmp_path: Path) -> None:
    file = FileOutput(tmp_path / "voice.wav")
    file.play(SOUND, 24_000)
    with pytest.raises(OutputError, match="16000 samples a second into a file of 24000"):
        file.play(SOUND, 16_000)
    file.close()


def test_a_file_without_sounds_is_whole(tmp_path: Path) -> None:
    FileOutput(tmp_path / "voice.wav").close()
    with wave.open(str(tmp_path / "voice.wav"), "rb") as wav:
        assert wav.getnframes() == 0


def test_a_file_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="No such file or directory; name another file"):
        FileOutput(tmp_path / "no" / "voice.wav")
