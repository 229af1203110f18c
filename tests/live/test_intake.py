"""What comes in while a run goes: kept first, then noted and handed on."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from voxlog.capture.block import Block
from voxlog.capture.journal import Journal, recover
from voxlog.errors import InputError
from voxlog.live.intake import Intake

RATE = 16_000
SIZE = RATE // 20
SECOND_NS = 1_000_000_000


class Played:
    """A source that gives these blocks, and then fails if it is told to."""

    channels, rate, name, fault = 1, RATE, "played", ""

    def __init__(self, blocks: list[Block], failure: str = "") -> None:
        self._blocks = blocks
        self._failure = failure

    def blocks(self) -> Iterator[Block]:
        yield from self._blocks
        if self._failure:
            raise InputError(self._failure)

    def stop(self) -> None: ...


def blocks(seconds: float, *, step_at: float = 1e9, lost_at: float = 1e9) -> list[Block]:
    """A tone; the wall clock is set by 5 s at `step_at`, a second is lost before `lost_at`."""
    made: list[Block] = []
    first = 0
    for number in range(round(seconds * 20)):
        lost = RATE if number == round(lost_at * 20) else 0
        first += lost
        tone = np.sin(np.arange(first, first + SIZE) * 0.3) * 8000
        clock = (first + SIZE) * SECOND_NS // RATE
        wall = clock + (5 * SECOND_NS if clock >= step_at * SECOND_NS else 0)
        made.append(Block(tone.astype(np.int16)[np.newaxis], first, clock, wall, lost))
        first += SIZE
    return made


def taken_in(source: Played, folder: Path) -> tuple[Intake, list[Mapping[str, Any]], int]:
    """The intake when all is over, what it noted, and the samples that it handed on."""
    noted: list[Mapping[str, Any]] = []
    journal = Journal(folder, 1, RATE)
    intake = Intake(source, journal, noted.append)
    intake.start()
    samples = 0
    while (part := intake.take(1.0)) is not None:
        samples += part.shape[1]
    journal.close()
    intake.tell_of_journal()
    return intake, noted, samples


@pytest.mark.parametrize(
    ("source", "seconds", "expected"),
    [
        (Played(blocks(3.0)), 3.0, ["clock"]),
        (Played(blocks(3.0, lost_at=2.0)), 4.0, ["clock", "gap 32000 16000"]),
        (
            Played(blocks(130.0, step_at=70.0)),
            130.0,
            [
                *("clock", "clock", "clock", "warning channel 1: nothing but noise for 120 s"),
                "warning the system's clock was set by +5.000 s",
            ],
        ),
        (Played(blocks(2.0), "x.wav: cut off"), 2.0, ["clock", "warning recording ended: x.wav"]),
    ],
    ids=["plain", "a gap", "a clock that is set", "a source that fails"],
)
def test_what_is_noted(source: Played, seconds: float, expected: list[str], tmp_path: Path) -> None:
    intake, noted, samples = taken_in(source, tmp_path / "audio")
    assert intake.seconds == seconds
    assert samples == seconds * RATE
    assert recover(tmp_path / "audio").samples == samples
    told = sorted(_told(record) for record in noted)
    assert [s[: len(e)] for s, e in zip(told, sorted(expected), strict=True)] == sorted(expected)


def _told(record: Mapping[str, Any]) -> str:
    if record["record"] == "clock":
        return "clock"
    if record["record"] == "gap":
        return f"gap {record['sample']} {record['samples']}"
    return f"{record['record']} {record['text']}"


def test_moments_and_places_go_by_the_last_block(tmp_path: Path) -> None:
    intake, _, _ = taken_in(Played(blocks(3.0)), tmp_path / "audio")
    assert intake.seconds_at(2 * SECOND_NS) == pytest.approx(2.0)
    assert intake.monotonic_ns_at(1.5) == pytest.approx(1.5 * SECOND_NS)
    clock = intake.clock()
    assert clock is not None
    assert clock.utc_of(RATE).timestamp() == pytest.approx(1.0, abs=1e-3)
