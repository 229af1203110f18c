"""Run folders of any size for the review page, made in a moment, with sound in them."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from voxlog.audio.store import AudioStore
from voxlog.follow.event import Event
from voxlog.log.folder import AudioFile, RunFacts, RunFolder
from voxlog.sheet.load import read_sheet
from voxlog.sheet.model import Sheet

RATE = 16_000

SHEET_TEXT = """\
voxlog-sheet: 1
id: small
title: A small run
source: invented for tests
positions: {conductor: Conductor, attendant: Inside attendant, operator: Operator}
asks: conductor
hold: ["hold the run"]
readings:
  - {id: saturation, by: attendant, say: "saturation {value}", unit: "%", min: 70, max: 100}
phases:
  - id: ground
    title: Ground checks
    steps:
      - {item: 1, ask: intercom check, by: attendant, stand-in: [operator], confirm: loud and clear}
      - item: 2
        ask: supply pressure
        by: operator
        value: {unit: psi, min: 1600, max: 2200, low: 1000, high: 2500, step: 50}
      - {item: 3, ask: inner door, by: attendant, confirm: shut, deny: ajar, group: doors}
      - {item: 4, ask: outer door, by: operator, confirm: shut, deny: loose, group: doors}
      - {item: 5, ask: spare mask, by: attendant, confirm: in reach, mandatory: false, within: 5}
  - id: climb
    title: Climb
    steps:
      - {cue: masks-off, by: conductor, say: on my mark, count: [two, one], go: now}
    callouts:
      - id: climb
        by: operator
        say: "passing {value}"
        unit: ft
        every: 5000
        from: 5000
        to: 10000
        read-back: conductor
        within: 6
    elapsed:
      - {id: time-off, cue: masks-off, every: 20, until: 60, by: operator, tolerance: 4}
"""
SHEET: Sheet = read_sheet(SHEET_TEXT)

EVENTS = (
    Event(1.0, 2.0, "item", "ground", "1", "attendant", "confirmed", heard="loud and clear"),
    Event(3.0, 4.5, "item", "ground", "2", "operator", "confirmed", ("off-limit",), "one thousand",
          1000.0, "psi", 0.9),
    Event(5.0, 5.0, "item", "ground", "3", "attendant", "skipped"),
    Event(6.0, 7.0, "item", "ground", "4", "operator", "negative", heard="loose", p=0.6),
    Event(7.5, 8.0, "note", "ground", heard="never mind", p=0.3),
    Event(9.0, 9.5, "callout", "climb", "climb", "operator", "unconfirmed", ("uncertain",),
          "passing five thousand", 5000.0, "ft", 0.4),
)  # fmt: skip

UTTERANCES = (
    {"channel": 1, "start_ms": 3000, "end_ms": 3500, "text": "supply pressure", "heard": []},
    {
        "channel": 1,
        "start_ms": 3800,
        "end_ms": 4500,
        "text": "1000",
        "heard": [
            {"text": "one thousand", "act": "value", "step": "2", "value": "1000",
             "evidence_millinats": 3000},
            {"text": "one thousand five hundred", "act": "value", "step": "2", "value": "1500",
             "evidence_millinats": 2000},
        ],
    },
)  # fmt: skip


def tone(seconds: float, hz: float = 440.0) -> np.ndarray:
    t = np.arange(int(seconds * RATE)) / RATE
    return (0.3 * np.sin(2 * np.pi * hz * t)).astype(np.float32)


def make_run(
    place: Path,
    events: Sequence[Event] = EVENTS,
    utterances: Sequence[dict[str, Any]] = UTTERANCES,
    sheet: str = SHEET_TEXT,
    audio: Sequence[np.ndarray] = (tone(12.0),),
) -> Path:
    """A closed run folder with a FLAC file for each array of samples, all of one length."""
    with RunFolder.create(place) as folder:
        store = AudioStore(folder.partial / "audio", len(audio))
        with store:
            store.write(np.stack(audio))
        facts = RunFacts(
            sheet_id="small",
            sheet_title="A small run",
            sheet_yaml=sheet.encode(),
            model="tiny.en",
            model_sha256="1a" * 32,
            audio=tuple(
                AudioFile(place / "audio" / kept.path.name, kept.sha256, RATE, 1, kept.samples)
                for kept in store.channels
            ),
            versions={"voxlog": "0.1.0"},
            settings={"positions": {"1": "operator"}},
        )
        folder.save(facts, utterances, events)
    return place
