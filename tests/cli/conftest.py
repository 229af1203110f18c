"""A run sheet that is learnt in a second, recordings of every kind, and the program in-process."""

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
import soundfile

from voxlog.cli.app import main

ROOT = Path(__file__).parents[2]
RATE = 16_000

SHEET = """\
voxlog-sheet: 1
id: tiny
title: Two checks
source: invented for tests
positions: {conductor: Conductor, attendant: Inside attendant, operator: Operator}
asks: conductor
phases:
  - id: ground
    title: Ground checks
    steps:
      - {item: 1, ask: intercom check, by: attendant, confirm: loud and clear, deny: unreadable}
      - {item: 2, ask: dump valve, by: operator, confirm: closed and guarded, deny: valve open}
"""


class Ended(NamedTuple):
    """How a command ended."""

    code: int
    out: str
    err: str


@pytest.fixture
def voxlog(own_cache: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ended]:
    """Runs `voxlog ARGUMENTS` in this process."""

    def run(*arguments: str | Path) -> Ended:
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return Ended(code, out, err)

    return run


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "tiny.yaml"
    path.write_text(SHEET, encoding="utf-8")
    return path


@pytest.fixture
def said() -> np.ndarray:
    """The first checks of the demonstration recording: 16 s in which items 1 and 2 and 3 are done.

    Item 3 there is the dump valve, the second item of the sheet here.
    """
    samples, rate = soundfile.read(
        ROOT / "samples_synthetic/demo.flac", frames=16 * RATE, dtype="float32"
    )
    assert rate == RATE
    return samples


@pytest.fixture
def recording(tmp_path: Path, said: np.ndarray) -> Path:
    path = tmp_path / "run.flac"
    soundfile.write(path, said, RATE)
    return path
