"""Whatever a user gives: one line that says what to do, or a finished log with a warning in it.

Never a traceback, and never a folder that looks whole and is not.
"""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

Run = Callable[..., tuple[int, str, str]]
Make = Callable[[Path, np.ndarray], Path]

ALIAS_BOMB = """\
voxlog-sheet: 1
define:
  a: &a [x, x, x, x, x, x, x, x, x]
  b: &b [*a, *a, *a, *a, *a, *a, *a, *a, *a]
  c: &c [*b, *b, *b, *b, *b, *b, *b, *b, *b]
  d: &d [*c, *c, *c, *c, *c, *c, *c, *c, *c]
  e: &e [*d, *d, *d, *d, *d, *d, *d, *d, *d]
  f: [*e, *e, *e, *e, *e, *e, *e, *e, *e]
"""


def is_one_line(err: str) -> bool:
    return err.startswith("voxlog: ") and err.count("\n") == 1 and err.endswith("\n")


def left_in(folder: Path) -> list[str]:
    """Run folders, whole or begun."""
    return sorted(path.name for path in folder.glob("run*") if path.is_dir())


# ---------------------------------------------------------------- audio that cannot be logged


def missing(folder: Path, _: np.ndarray) -> Path:
    return folder / "none.wav"


def empty(folder: Path, _: np.ndarray) -> Path:
    path = folder / "a.wav"
    path.touch()
    return path


def no_samples(folder: Path, _: np.ndarray) -> Path:
    path = folder / "a.wav"
    soundfile.write(path, np.zeros(0), 16_000)
    return path


def not_audio(folder: Path, _: np.ndarray) -> Path:
    path = folder / "a.wav"
    path.write_text("the recording is on the other disk\n")
    return path


def odd_name(folder: Path, _: np.ndarray) -> Path:
    return folder / "a\nb.wav"


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (missing, "no such file"),
        (empty, "empty (0 bytes)"),
        (no_samples, "no audio in it"),
        (not_audio, "not audio that can be read"),
        (lambda folder, _: folder, "a folder"),
        (odd_name, "no such file"),
    ],
)
def test_audio_that_cannot_be_logged(
    make: Make, what: str, voxlog: Run, said: np.ndarray, sheet: Path, tmp_path: Path
) -> None:
    audio = make(tmp_path, said)
    code, out, err = voxlog("log", audio, "--sheet", sheet, "--out", tmp_path / "run")
    assert (code, out) == (2, "")
    assert is_one_line(err)
    assert what in err
    assert left_in(tmp_path) == []


# ---------------------------------------------------------------- audio that is logged all the same


def truncated(folder: Path, said: np.ndarray) -> Path:
    path = folder / "a.wav"
    soundfile.write(path, said, 16_000)
    os.truncate(path, path.stat().st_size * 2 // 3)
    return path


def silent(folder: Path, said: np.ndarray) -> Path:
    path = folder / "a.wav"
    soundfile.write(path, np.zeros_like(said), 16_000)
    return path


def clipped(folder: Path, said: np.ndarray) -> Path:
    path = folder / "a.wav"
    soundfile.write(path, np.clip(said * 100, -1, 1), 16_000)
    return path


def at_96_khz(folder: Path, said: np.ndarray) -> Path:
    path = folder / "a.wav"
    soundfile.write(path, np.repeat(said, 6), 96_000)
    return path


def of_20_channels(folder: Path, said: np.ndarray) -> Path:
    path = folder / "a.wav"
    channels = np.zeros((len(said), 20))
    channels[:, 3] = said
    soundfile.write(path, channels, 16_000)
    return path


@pytest.mark.parametrize(
    ("make", "warning"),
    [
        (truncated, "the file is cut short"),
        (silent, "no sound at all in channel 1"),
        (clipped, "clipped"),
        (at_96_khz, ""),
        (of_20_channels, "no sound at all in channel 20"),
    ],
)
def test_odd_audio_is_logged_with_a_warning(
    make: Make, warning: str, voxlog: Run, said: np.ndarray, sheet: Path, tmp_path: Path
) -> None:
    audio = make(tmp_path, said[:80_000])
    code, out, err = voxlog("log", audio, "--sheet", sheet, "--out", tmp_path / "run")
    assert (code, err) == (0, "")
    assert f"{warning}" in " ".join(out.split())
    assert ("Warning: " in out) == bool(warning)
    assert voxlog("verify", tmp_path / "run")[0] == 0


# ---------------------------------------------------------------- sheets


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("item: 2", "item: 1", "number"),
        ("asks:", "colour: red\nasks:", "colour"),
        ("phases:", 'define: {a: "<b>", b: "<a>"}\nphases:', "<a>"),
        ("positions: {", "positions: [", ""),
        ("id: tiny", "id: tiny\nid: tiny", "id"),
        ("by: operator", "by: pilot", "pilot"),
        ("title: Two checks", "title: Two\x00checks", ""),
    ],
)
def test_a_wrong_sheet_is_named_with_its_line(
    old: str, new: str, what: str, voxlog: Run, recording: Path, sheet: Path, tmp_path: Path
) -> None:
    sheet.write_text(sheet.read_text().replace(old, new, 1))
    code, out, err = voxlog("log", recording, "--sheet", sheet, "--out", tmp_path / "run")
    assert (code, out) == (2, "")
    assert is_one_line(err)
    assert err.startswith(f"voxlog: {sheet}:")
    assert what in err
    assert left_in(tmp_path) == []


def test_an_alias_bomb_does_not_go_off(
    voxlog: Run, recording: Path, sheet: Path, tmp_path: Path
) -> None:
    sheet.write_text(ALIAS_BOMB)
    code, _, err = voxlog("log", recording, "--sheet", sheet, "--out", tmp_path / "run")
    assert code == 2
    assert is_one_line(err)


# ---------------------------------------------------------------- options and folders


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        ([], "missing option '--sheet'"),
        (["--sheet", "none.yaml"], "none.yaml: no such file"),
        (["--sheet", "SHEET", "--start", "noon"], "--start noon: not a moment"),
        (["--sheet", "SHEET", "--map", "2=operator"], "has channels 1 to 1"),
        (["--sheet", "SHEET", "--model", "huge"], "model huge: not one of tiny.en-intercom"),
        (["--sheet", "SHEET", "--loud"], "no such option: --loud"),
    ],
)
def test_a_wrong_option(
    arguments: list[str], what: str, voxlog: Run, recording: Path, sheet: Path, tmp_path: Path
) -> None:
    options = [str(sheet) if word == "SHEET" else word for word in arguments]
    code, out, err = voxlog("log", recording, *options, "--out", tmp_path / "run")
    assert (code, out) == (2, "")
    assert is_one_line(err)
    assert what in err
    assert left_in(tmp_path) == []


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        (["verify", "none"], "not a run folder"),
        (["score", "none", "--truth", "none.csv"], "not a run folder"),
        (["sheet", "check", "none.yaml"], "no such file"),
        (["sheet", "show", "none.yaml"], "no such file"),
        (["sheet", "shew"], "shew"),
        (["lock"], "lock"),
        (["demo", "extra"], "extra"),
    ],
)
def test_wrong_arguments_of_other_commands(arguments: list[str], what: str, voxlog: Run) -> None:
    code, out, err = voxlog(*arguments)
    assert (code, out) == (2, "")
    assert is_one_line(err)
    assert what in err


def test_an_output_folder_that_is_in_use_is_left_alone(
    voxlog: Run, recording: Path, sheet: Path, tmp_path: Path
) -> None:
    out = tmp_path / "run"
    out.mkdir()
    (out / "notes.txt").write_text("ours")
    code, _, err = voxlog("log", recording, "--sheet", sheet, "--out", out)
    assert code == 2
    assert is_one_line(err)
    assert "not empty" in err
    assert [path.name for path in out.iterdir()] == ["notes.txt"]


# ---------------------------------------------------------------- the machine


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 KiB: too small for the audio, large enough for the folders."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "voxlog-test", str(disk)]
    if os.geteuid() != 0 or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("mounting a small disk needs root")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk(voxlog: Run, recording: Path, sheet: Path, small_disk: Path) -> None:
    code, out, err = voxlog("log", recording, "--sheet", sheet, "--out", small_disk / "run")
    assert (code, out) == (2, "")
    assert is_one_line(err)
    assert "free some space" in err
    assert list(small_disk.iterdir()) == []


@pytest.mark.slow
def test_six_hours_need_no_more_memory_than_one(
    recording: Path, said: np.ndarray, sheet: Path, tmp_path: Path, own_cache: Path
) -> None:
    """Silence but for its ends, written as a hole in the file. The limit is the stated 700 MB.

    VmHWM is the program's own peak; ru_maxrss begins with that of the process that started it.
    """
    audio, hours = tmp_path / "six-hours.wav", 6
    body = (said * 32767).astype("<i2").tobytes()
    size = hours * 3600 * 16_000 * 2
    soundfile.write(audio, said, 16_000, subtype="PCM_16")
    header = audio.read_bytes()[:44]
    with audio.open("wb") as file:
        file.write(header[:4] + (size + 36).to_bytes(4, "little") + header[8:40])
        file.write(size.to_bytes(4, "little") + body)
        file.truncate(44 + size - len(body))
        file.seek(0, os.SEEK_END)
        file.write(body)
    program = (
        "import sys; from voxlog.cli.app import main; code = main();"
        "peak = [line.split()[1] for line in open('/proc/self/status') if line[:6] == 'VmHWM:'];"
        "print(int(peak[0]) // 1024, file=sys.stderr);"
        "sys.exit(code)"
    )
    command = [sys.executable, "-c", program, "log", str(audio), "--sheet", str(sheet)]
    done = subprocess.run(
        [*command, "--out", str(tmp_path / "run")], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert int(done.stderr.split()[-1]) < 700
    assert "intercom check" in (tmp_path / "run/events.csv").read_text()
