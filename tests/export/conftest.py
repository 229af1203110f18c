"""A run folder that was logged on the first of two mornings and can be reviewed."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.follow.event import Event
from voxlog.log.folder import AudioFile, RunFacts, RunFolder

EVENTS = (
    Event(1.0, 2.0, "item", "ground", "1", "attendant", "confirmed", (), "loud and clear"),
    Event(
        3.0, 4.5, "item", "ground", "2", "operator", "unconfirmed", ("uncertain",), "roger", p=0.6
    ),
    Event(5.0, 6.0, "callout", "climb", "climb", "operator", None, ("misread",), "", 5000.0, "ft"),
    Event(7.0, 7.0, "item", "climb", "3", "attendant", "skipped"),
)


SHEET = """\
voxlog-sheet: 1
id: tiny
title: Two checks
source: invented for tests
positions: {attendant: Inside attendant, operator: Operator, conductor: Conductor}
asks: conductor
readings:
  - {id: saturation, by: attendant, say: "saturation {value}", unit: "%", min: 75, max: 100}
phases:
  - id: ground
    title: Ground checks
    steps:
      - {item: 1, ask: intercom check, by: attendant, confirm: loud and clear}
      - item: 2
        ask: supply pressure
        by: operator
        value: {unit: psi, min: 1600, low: 1000, high: 2500, step: 50}
      - {item: 3, ask: mask, by: attendant, confirm: on and sealed}
"""


@pytest.fixture
def run_folder(tmp_path: Path) -> Path:
    return make_run(tmp_path / "s-07", datetime(2026, 11, 25, 9, 30, tzinfo=UTC))


def make_run(path: Path, start: datetime | None, drift_ppb: int = 0) -> Path:
    facts = RunFacts(
        sheet_id="tiny",
        sheet_title="Two checks",
        sheet_yaml=SHEET.encode(),
        model="tiny.en",
        model_sha256="1" * 64,
        audio=(AudioFile(path / "audio/channel-1.flac", "2" * 64, 16_000, 1, 160_000),),
        versions={"voxlog": "0.1.0"},
        start=start,
        start_source="option" if start else "",
        drift_ppb=drift_ppb,
    )
    with RunFolder.create(path) as folder:
        folder.save(facts, (), EVENTS)
    return path
