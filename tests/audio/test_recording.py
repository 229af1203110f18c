"""Recordings of every kind and every fault: read, read with a warning, or refused in one line."""

import os
import struct
import subprocess
import sys
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import correlate

from tests.audio.sounds import convert, cut_short, tone, write
from voxlog.audio.check import AudioCheck
from voxlog.audio.recording import Recording, open_recording
from voxlog.errors import InputError


def read(recording: Recording, seconds: float = 30.0) -> tuple[np.ndarray, tuple[str, ...]]:
    """All samples, shape (channels, n), and what the check then says."""
    check = AudioCheck()
    blocks = list(recording.blocks(seconds, check))
    return np.concatenate(blocks, axis=1), check.warnings()


def delay(found: np.ndarray, expected: np.ndarray) -> int:
    """Samples by which the sound came later, by the best match of the two."""
    return int(correlate(found, expected, method="fft").argmax()) - (len(expected) - 1)


# ---------------------------------------------------------------- what can be read

LOSSLESS = [
    ("a.wav", "WAV", "PCM_U8", 0.01),
    ("a.wav", "WAV", "PCM_16", 1e-4),
    ("a.wav", "WAV", "PCM_24", 1e-6),
    ("a.wav", "WAV", "PCM_32", 1e-7),
    ("a.wav", "WAV", "FLOAT", 0.0),
    ("a.wav", "WAV", "DOUBLE", 0.0),
    ("a.wav", "WAVEX", "PCM_16", 1e-4),
    ("a.rf64", "RF64", "PCM_24", 1e-6),
    ("a.w64", "W64", "PCM_16", 1e-4),
    ("a.flac", "FLAC", "PCM_16", 1e-4),
    ("a.flac", "FLAC", "PCM_24", 1e-6),
]


@pytest.mark.parametrize(("name", "container", "subtype", "error"), LOSSLESS)
def test_lossless_files_come_back(
    name: str, container: str, subtype: str, error: float, tmp_path: Path
) -> None:
    sound = tone(1.0, channels=2)
    path = write(tmp_path / name, sound, format=container, subtype=subtype)
    recording = open_recording([path])
    assert (recording.channels, recording.rate, recording.seconds) == (2, 16_000, 1.0)
    samples, warnings = read(recording)
    assert samples.dtype == np.float32
    assert np.abs(samples - sound.T).max() <= error
    assert warnings == ()


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100, 48_000])
@pytest.mark.parametrize(
    ("name", "options", "unknown_delay"),
    [
        ("a.flac", (), 0),
        ("a.ogg", ("-c:a", "libvorbis"), 0),
        ("a.mp3", ("-c:a", "libmp3lame"), 0),
        ("a.m4a", ("-c:a", "aac"), 0),
        # These say nothing of the coder's delay, so the sound comes up to a coder's frame late.
        ("a.mp3", ("-c:a", "libmp3lame", "-q:a", "4", "-write_xing", "0"), 1152),
        ("a.aac", ("-c:a", "aac"), 1024),
    ],
)
def test_coded_files_keep_their_length_and_time(
    name: str, options: tuple[str, ...], unknown_delay: int, rate: int, tmp_path: Path
) -> None:
    """Noise, so that a shift would show, coded by ffmpeg; coders fill their last frames up."""
    noise = np.random.default_rng(7).standard_normal((3 * 16_000, 1)).astype(np.float32) * 0.05
    noise[: 16_000 // 2] = 0
    source = write(tmp_path / "source.wav", noise)
    path = convert(source, tmp_path / name, "-ar", str(rate), *options)
    samples, warnings = read(open_recording([path]))
    assert warnings == ()
    assert abs(delay(samples[0], noise[:, 0])) <= unknown_delay * 16_000 / rate + 16
    assert 3 * 16_000 - 16 <= samples.shape[1] <= 3 * 16_000 + 2 * 1152 * 16_000 / rate


@pytest.mark.parametrize("name", ["a.opus", "a.webm", "a.mka"])
def test_opus_keeps_its_length_and_time(name: str, tmp_path: Path) -> None:
    noise = np.random.default_rng(7).standard_normal((3 * 16_000, 1)).astype(np.float32) * 0.05
    source = write(tmp_path / "source.wav", noise)
    path = convert(source, tmp_path / name, "-c:a", "libopus")
    samples, warnings = read(open_recording([path]))
    assert warnings == ()
    assert abs(delay(samples[0], noise[:, 0])) <= 16
    assert abs(samples.shape[1] - 3 * 16_000) <= 0.02 * 16_000


@pytest.mark.parametrize("seconds", [0.1, 0.7, 1.0, 30.0])
def test_blocks_have_the_length_asked_for(seconds: float, tmp_path: Path) -> None:
    path = write(tmp_path / "a.wav", tone(2.5, 44_100), 44_100)
    lengths = [block.shape[1] for block in open_recording([path]).blocks(seconds)]
    size = round(seconds * 16_000)
    assert lengths[:-1] == [size] * (len(lengths) - 1)
    assert 0 < lengths[-1] <= size
    assert sum(lengths) == 40_000


def test_a_file_for_each_position(tmp_path: Path) -> None:
    """Channels side by side in the order named; different rates, lengths and kinds."""
    paths = [
        write(tmp_path / "conductor.wav", tone(1.0, 48_000), 48_000),
        write(tmp_path / "inside.flac", tone(2.0, 16_000, channels=2, frequency=500.0)),
        write(tmp_path / "operator.wav", tone(1.9, 8_000, frequency=700.0), 8_000),
    ]
    recording = open_recording(paths)
    assert (recording.channels, recording.rate, recording.seconds) == (4, 48_000, 2.0)
    samples, warnings = read(recording, seconds=0.3)
    assert samples.shape == (4, 32_000)
    peaks = [np.abs(np.fft.rfft(row[4_000:12_000])).argmax() * 2 for row in samples]
    assert peaks == [440, 500, 1000, 700]
    assert not samples[0, 16_000:].any()
    assert warnings == (
        "conductor.wav: 1.0 s shorter than the longest file; silence added at its end",
    )


def test_twenty_channels_at_96_khz(tmp_path: Path) -> None:
    sound = np.repeat(tone(1.0, 96_000), 20, axis=1) * np.linspace(0.1, 1, 20, dtype=np.float32)
    path = write(tmp_path / "a.wav", sound, 96_000, subtype="PCM_24")
    samples, warnings = read(open_recording([path]))
    assert samples.shape == (20, 16_000)
    assert np.abs(samples).max(axis=1) == pytest.approx(0.3 * np.linspace(0.1, 1, 20), rel=0.01)
    assert warnings == ()


def test_twenty_channels_through_ffmpeg(tmp_path: Path) -> None:
    """PyAV crashes on more than eight channels unless their samples are interleaved."""
    sound = np.repeat(tone(1.0, 48_000), 20, axis=1) * np.linspace(0.1, 1, 20, dtype=np.float32)
    source = write(tmp_path / "a.wav", sound, 48_000)
    path = convert(source, tmp_path / "a.mka", "-c:a", "pcm_s16le")
    samples, _ = read(open_recording([path]))
    assert np.abs(samples).max(axis=1) == pytest.approx(0.3 * np.linspace(0.1, 1, 20), rel=0.01)


def test_memory_follows_the_block_and_not_the_file(tmp_path: Path) -> None:
    path = write(tmp_path / "a.wav", np.tile(tone(10, 48_000, channels=4), (6, 1)), 48_000)
    recording = open_recording([path])
    tracemalloc.start()
    for _ in recording.blocks(2.0):
        pass
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    whole = 60 * 4 * 16_000 * 4
    assert peak < whole / 4


def test_the_end_of_a_promise_left_open_is_no_fault(tmp_path: Path) -> None:
    """As a program leaves it that writes to a pipe."""
    path = write(tmp_path / "a.wav", tone(1.0), subtype="PCM_16")
    whole = bytearray(path.read_bytes())
    whole[40:44] = struct.pack("<I", 0xFFFFFFFF)
    path.write_bytes(whole)
    samples, warnings = read(open_recording([path]))
    assert samples.shape == (1, 16_000)
    assert warnings == ()


# ---------------------------------------------------------------- the time reference


def broadcast(folder: Path, name: str, samples_since_midnight: int) -> Path:
    source = write(folder / "source.wav", tone(0.3))
    tags = ["origination_date=2026-03-14", f"time_reference={samples_since_midnight}"]
    options = [word for tag in tags for word in ("-metadata", tag)]
    return convert(source, folder / name, "-write_bext", "1", *options)


def test_the_start_comes_from_the_files_time_reference(tmp_path: Path) -> None:
    recording = open_recording([broadcast(tmp_path, "a.wav", 547_208_000)])
    assert recording.start is not None
    assert recording.start.isoformat() == "2026-03-14T09:30:00.500000+00:00"
    assert recording.warnings == ()


def test_files_that_start_apart_are_warned_of(tmp_path: Path) -> None:
    paths = [
        write(tmp_path / "plain.wav", tone(0.3)),
        broadcast(tmp_path, "a.wav", 547_208_000),
        broadcast(tmp_path, "b.wav", 547_208_000 + 8_000),
        broadcast(tmp_path, "c.wav", 547_208_000 + 16_000 * 90),
    ]
    recording = open_recording(paths)
    assert recording.start is not None
    assert recording.start.isoformat() == "2026-03-14T09:30:00.500000+00:00"
    assert recording.warnings == (
        "c.wav: starts +90.0 s from a.wav by its time reference; taken as starting together",
    )


def test_no_reference_no_start(tmp_path: Path) -> None:
    assert open_recording([write(tmp_path / "a.wav", tone(0.1))]).start is None


# ---------------------------------------------------------------- read, with a warning


@pytest.mark.parametrize(
    ("name", "options", "promised"),
    [
        ("a.wav", (), "10.0"),
        ("a.wav", ("-rf64", "always"), "10.0"),
        ("a.wav", ("-c:a", "pcm_f32le"), "10.0"),
        ("a.flac", (), "10.0"),
        ("a.mp3", (), "10.0"),
        ("a.m4a", ("-movflags", "+faststart"), "10.0"),
    ],
)
def test_what_is_left_of_a_cut_off_file_is_read(
    name: str, options: tuple[str, ...], promised: str, tmp_path: Path
) -> None:
    noise = np.random.default_rng(7).standard_normal((160_000, 1)).astype(np.float32) * 0.1
    source = write(tmp_path / "source.wav", noise)
    path = cut_short(convert(source, tmp_path / name, *options))
    samples, warnings = read(open_recording([path]))
    assert 5.5 * 16_000 < samples.shape[1] < 6.2 * 16_000
    came = f"{samples.shape[1] / 16_000:.1f}"
    assert len(warnings) == 1
    assert f"{name}: " in warnings[0]
    assert f"s promised by its header, {came} s came; the file is cut short" in warnings[0]
    assert float(warnings[0].split(": ")[1].split()[0]) == pytest.approx(float(promised), abs=0.2)


def test_a_header_that_was_never_finished_hides_no_audio(tmp_path: Path) -> None:
    """A recorder that lost power: all the audio is there and the data size says 0."""
    path = write(tmp_path / "a.wav", tone(2.0), subtype="PCM_16")
    whole = bytearray(path.read_bytes())
    whole[40:44] = bytes(4)
    path.write_bytes(whole)
    samples, _ = read(open_recording([path]))
    assert samples.shape == (1, 32_000)


def test_damage_in_the_middle_does_not_end_the_reading(tmp_path: Path) -> None:
    source = write(tmp_path / "source.wav", tone(5.0, 44_100), 44_100)
    path = convert(source, tmp_path / "a.mp3")
    whole = bytearray(path.read_bytes())
    middle = len(whole) // 2
    whole[middle : middle + 3000] = bytes(3000)
    path.write_bytes(whole)
    samples, _ = read(open_recording([path]))
    assert samples.shape[1] > 4.3 * 16_000


def test_faults_of_the_sound_are_warned_of(tmp_path: Path) -> None:
    sound = tone(2.0, 48_000, channels=4)
    sound[:, 1] = 0
    sound[:, 2] = np.clip(sound[:, 2] * 5, -1, 1)
    sound[100:103, 3] = np.nan, np.inf, -np.inf
    path = write(tmp_path / "a.wav", sound, 48_000, subtype="FLOAT")
    samples, warnings = read(open_recording([path]), seconds=0.5)
    assert np.isfinite(samples).all()
    assert warnings[0] == "no sound at all in channel 2"
    assert warnings[1].startswith("channel 3: clipped, 5")
    assert warnings[2:] == ("channel 4: 3 samples are not numbers; silence put in their place",)


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32"])
def test_clipping_is_seen_in_every_sample_format(subtype: str, tmp_path: Path) -> None:
    loud = write(tmp_path / "loud.wav", np.clip(tone(1.0) * 5, -1, 1), subtype=subtype)
    fair = write(tmp_path / "fair.wav", tone(1.0) * 3, subtype=subtype)
    assert read(open_recording([loud]))[1][0].startswith("channel 1: clipped")
    assert read(open_recording([fair]))[1] == ()


# ---------------------------------------------------------------- refused in one line


def text(path: Path) -> None:
    path.write_text("0001 masks on\n" * 500)


def jpeg(path: Path) -> None:
    path.write_bytes(b"\xff\xd8\xff\xe0\0\x10JFIF\0\1\1\0\0\1\0\1\0\0" + bytes(range(256)) * 20)


def random_bytes(path: Path) -> None:
    path.write_bytes(np.random.default_rng(1).bytes(100_000))


def playlist(path: Path) -> None:
    path.write_text("#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\n/dev/zero\n#EXT-X-ENDLIST\n")


def concat_list(path: Path) -> None:
    write(path.with_name("other.wav"), tone(0.1))
    path.write_text("ffconcat version 1.0\nfile other.wav\n")


def header_only(path: Path) -> None:
    write(path, tone(0.1)[:0], format="WAV")


def header_cut_off(path: Path) -> None:
    write(path, tone(0.1), format="WAV")
    path.write_bytes(path.read_bytes()[:30])


def rate_of_one(path: Path) -> None:
    write(path, tone(0.1), 1, format="WAV")


def m4a_without_end(path: Path) -> None:
    source = write(path.with_name("source.wav"), tone(5.0))
    convert(source, path.with_name("whole.m4a"))
    path.write_bytes(cut_short(path.with_name("whole.m4a")).read_bytes())


def picture_only(path: Path) -> None:
    options = ["-f", "lavfi", "-i", "color=c=red:s=16x16:d=1", "-map", "1:v", "-f", "mp4"]
    convert(write(path.with_name("source.wav"), tone(0.1)), path, *options)


NOT_AUDIO = "not audio that can be read; give WAV, FLAC, Ogg, MP3 or M4A"


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda path: None, "no such file; check the name"),
        (Path.mkdir, "a folder; name the audio files in it"),
        (os.mkfifo, "a device or pipe; record to a file first, then name that"),
        (lambda path: path.symlink_to("/dev/zero"), "a device or pipe"),
        (lambda path: path.symlink_to(path), "name a file you may read"),
        (Path.touch, "empty (0 bytes); record again or name another file"),
        (header_only, "no audio in it (0 samples); record again or name another file"),
        (header_cut_off, NOT_AUDIO),
        (rate_of_one, "1 samples a second by its header, which is no rate for speech"),
        (text, NOT_AUDIO),
        (jpeg, NOT_AUDIO),
        (random_bytes, NOT_AUDIO),
        (playlist, NOT_AUDIO),
        (concat_list, NOT_AUDIO),
        (m4a_without_end, NOT_AUDIO),
        (picture_only, NOT_AUDIO),
    ],
)
@pytest.mark.parametrize("name", ["run.wav", "run 7 (ä).bin"])
def test_bad_input_is_one_line_that_helps(
    make: Callable[[Path], object],
    message: str,
    name: str,
    tmp_path: Path,
    capfd: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / name
    make(path)
    with pytest.raises(InputError) as caught:
        open_recording([path])
    assert str(caught.value).startswith(f"{path}: ")
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)
    assert capfd.readouterr() == ("", "")


def test_no_file_at_all_is_refused() -> None:
    with pytest.raises(InputError, match="no recording named"):
        open_recording([])


def test_one_file_twice_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "a.wav", tone(0.1))
    with pytest.raises(InputError, match="named twice"):
        open_recording([path, tmp_path / "." / "a.wav"])


def test_a_file_that_vanishes_is_refused_in_one_line(tmp_path: Path) -> None:
    path = write(tmp_path / "a.wav", tone(0.1))
    recording = open_recording([path])
    path.unlink()
    with pytest.raises(InputError, match=r"a\.wav"):
        list(recording.blocks())


def test_an_unreadable_file_is_refused(tmp_path_factory: pytest.TempPathFactory) -> None:
    """In a process that is not root, which may read everything."""
    path = write(tmp_path_factory.mktemp("locked") / "a.wav", tone(0.1))
    path.chmod(0)
    program = (
        "import os, sys; from pathlib import Path; from voxlog.audio.recording import *;"
        "from voxlog.errors import InputError\n"
        "if os.getuid() == 0: os.setgroups([]); os.setgid(65534); os.setuid(65534)\n"
        "try: open_recording([Path(sys.argv[1])])\n"
        "except InputError as error: print(error)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(path)], capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    assert done.stdout.startswith(f"{path}: ")
    assert "ermission" in done.stdout


@pytest.mark.slow
def test_six_hours_are_read_to_the_sample(tmp_path: Path) -> None:
    """A sparse file: 1.9 GB of mono silence at 44.1 kHz with a click at its last second."""
    frames = 6 * 3600 * 44_100
    path = write(tmp_path / "a.wav", tone(0.1, 44_100)[:0], 44_100, subtype="PCM_16")
    with path.open("r+b") as file:
        file.seek(4)
        file.write(struct.pack("<I", 36 + 2 * frames))
        file.seek(40)
        file.write(struct.pack("<I", 2 * frames))
        file.truncate(44 + 2 * frames)
        file.seek(44 + 2 * (frames - 44_100))
        file.write(struct.pack("<h", 20_000))
    samples, click = 0, 0
    for block in open_recording([path]).blocks():
        if (loudest := int(np.abs(block[0]).argmax())) and block[0, loudest]:
            click = samples + loudest
        samples += block.shape[1]
    assert samples == 6 * 3600 * 16_000
    assert click == (6 * 3600 - 1) * 16_000
