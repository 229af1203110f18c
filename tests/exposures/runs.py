"""Exposures and run folders in few words."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.profile.rows import call, step
from voxlog.exposures.exposure import SUBJECT, Exposure
from voxlog.follow.event import Event
from voxlog.log.folder import AudioFile, RunFacts, RunFolder
from voxlog.log.people import People, people_settings
from voxlog.profile.duration import TimeAbove

MONDAY = datetime(2026, 11, 23, 9, 0, tzinfo=UTC)

SHEET = """
voxlog-sheet: 1
id: up-and-down
title: Up and down
source: invented for tests, not for use
positions: {conductor: Conductor, attendant: Inside attendant, operator: Chamber operator}
asks: conductor
inside: [attendant]
phases:
  - id: ground
    title: Ground
    level: 0
    steps:
      - {item: 1, ask: masks, by: attendant, confirm: masks on, deny: masks off, gas: oxygen}
  - id: up
    title: Up
    callouts:
      - {id: climb, by: operator, say: "passing {value}", unit: ft,
         every: 5000, from: 5000, to: 25000}
  - id: top
    title: At the top
    level: 25000
    steps:
      - {item: 2, ask: ears, by: attendant, confirm: clear, deny: pain}
  - id: down
    title: Down
    callouts:
      - {id: sink, by: operator, say: "passing {value}", unit: ft,
         every: 5000, from: 20000, to: 5000}
  - id: closing
    title: Closing
    level: 0
    steps:
      - {item: 3, ask: ground, by: operator, confirm: on the ground, deny: not yet}
"""

# Off the ground at 360 s, at 25,000 ft from 660 s to 960 s, on the ground again at 1,260 s.
ROWS = [
    step(0, "ground", "1"),
    step(300, "ground", "1", "confirmed", "repeated"),
    *(call(420 + 60 * n, 5000.0 * (n + 1), "up", "climb") for n in range(5)),
    step(957, "top", "2"),
    *(call(1020 + 60 * n, 20_000 - 5000.0 * n, "down", "sink") for n in range(4)),
    step(1300, "closing", "3"),
]


def exposure(
    began_h: float | None,
    code: str = "S-07",
    role: str = SUBJECT,
    *,
    level: float = 25_000,
    unit: str = "ft",
    away_h: float = 0.5,
    run: str = "",
) -> Exposure:
    """began_h: hours after MONDAY."""
    began = None if began_h is None else MONDAY + timedelta(hours=began_h)
    return Exposure(
        code=code,
        role=role,
        run=run or f"run-{began_h}",
        sheet="up-and-down",
        began=began,
        ended=None if began is None else began + timedelta(hours=away_h),
        level=level,
        unit=unit,
        at_level=TimeAbove(level, 300, 290, 310),
        away_s=away_h * 3600,
        oxygen_s=1200 if role == SUBJECT else None,
    )


def make_run(
    place: Path,
    people: People,
    start: datetime | None = MONDAY,
    rows: Sequence[Event] = ROWS,
) -> Path:
    facts = RunFacts(
        sheet_id="up-and-down",
        sheet_title="Up and down",
        sheet_yaml=SHEET.encode(),
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=(AudioFile(place / "a.flac", "2b" * 32, 16_000, 1, 16_000 * 1400),),
        versions={"voxlog": "0.1.0"},
        start=start,
        start_source="option" if start else "",
        settings=people_settings(people),
    )
    with RunFolder.create(place) as folder:
        folder.save(facts, [], sorted(rows, key=lambda row: row.start))
    return place
