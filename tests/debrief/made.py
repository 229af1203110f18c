"""Runs made for the tests of the debrief: as values, and as run folders on the disk."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from voxlog.debrief.run import Channel, Run, Said, SaidPhrase
from voxlog.follow.event import Event
from voxlog.log.digest import file_sha256
from voxlog.log.folder import AudioFile, RunFacts, RunFolder
from voxlog.review.decision import Decision
from voxlog.review.outcome import outcomes
from voxlog.sheet.load import load_sheet, read_sheet
from voxlog.sheet.model import Item, Sheet

RATE = 16_000
START = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)

SHEET = """\
voxlog-sheet: 1
id: short
title: A short run
source: invented for tests
positions: {conductor: Conductor, attendant: Inside attendant, operator: Chamber operator}
asks: conductor
within: 8
hold: [hold the run]
resume: ["resume at item {item}"]
readings:
  - {id: saturation, by: attendant, say: "sat {value}", unit: "%", min: 70, max: 100, low: 40}
phases:
  - id: ground
    title: Ground checks
    level: 0
    steps:
      - item: 1
        ask: intercom check
        by: attendant
        stand-in: [operator]
        confirm: loud and clear
        deny: broken
      - item: 2
        ask: supply pressure
        by: operator
        value: {unit: psi, min: 1600, max: 2200, low: 1000, high: 2500, step: 50}
      - item: 3
        ask: spare mask
        by: attendant
        confirm: in reach
        deny: none
        mandatory: false
        within: 4
  - id: climb
    title: Climb
    steps:
      - cue: masks-off
        by: conductor
        say: masks off on my mark
        count: [three, two, one]
        go: now
      - {item: 4, ask: mask back on, by: attendant, confirm: on and sealed, deny: not sealed}
    callouts:
      - id: climb
        by: operator
        say: "passing {value}"
        unit: ft
        every: 5000
        from: 5000
        to: 15000
        read-back: conductor
        within: 6
    elapsed:
      - id: time-off
        cue: masks-off
        every: 30
        until: 240
        by: operator
        say: "time {value}"
        tolerance: 3
"""

EVENTS = (
    Event(
        2.0,
        5.0,
        "item",
        "ground",
        "1",
        "attendant",
        "confirmed",
        heard="intercom check / loud and clear",
    ),
    Event(
        *(6.0, 10.0, "item", "ground", "2", "operator", "confirmed", ("off-limit",)),
        heard="supply pressure / one five hundred",
        value=1500,
        unit="psi",
        p=0.98,
    ),
    Event(12.0, 12.0, "item", "ground", "3", "attendant", "skipped", p=0.9),
    Event(
        20.0,
        23.0,
        "callout",
        "climb",
        "climb",
        "operator",
        "confirmed",
        heard="passing five thousand / five thousand",
        value=5000,
        unit="ft",
    ),
    Event(
        30.0,
        33.0,
        "callout",
        "climb",
        "climb",
        "operator",
        "unconfirmed",
        ("misread",),
        "passing one zero thousand / one four thousand",
        10_000,
        "ft",
        0.8,
    ),
    Event(40.0, 41.0, "hold", "climb", heard="hold the run", p=0.95),
    Event(43.0, 45.0, "note", "climb", heard="The left strap has slipped"),
    Event(46.0, 46.5, "note", "climb", heard="roger", note="receipt"),
    Event(
        52.0, 54.0, "resume", "climb", position="conductor", heard="resume at item four", value=4
    ),
    Event(56.0, 57.0, "cue", "climb", "masks-off", "conductor", heard="three two one now"),
    Event(
        60.0,
        62.0,
        "reading",
        "climb",
        "saturation",
        "attendant",
        heard="saturation eight one",
        value=81,
        unit="%",
    ),
    Event(
        65.0,
        67.0,
        "reading",
        "climb",
        "saturation",
        "attendant",
        None,
        ("off-limit",),
        "saturation six five",
        65,
        "%",
        0.9,
    ),
    Event(
        86.0,
        87.0,
        "callout",
        "climb",
        "time-off",
        "operator",
        heard="time thirty",
        value=30,
        unit="s",
    ),
    Event(
        90.0,
        93.0,
        "item",
        "climb",
        "4",
        "attendant",
        "negative",
        ("uncertain",),
        "mask back on / not sealed",
        p=0.6,
    ),
)

SAID = (
    Said(1, 2.0, 3.0, "intercom check", (SaidPhrase("challenge", "1", "intercom check"),)),
    Said(2, 3.4, 5.0, "loud and clear", (SaidPhrase("confirm", "1", "loud and clear"),)),
    Said(1, 6.0, 7.5, "supply pressure", (SaidPhrase("challenge", "2", "supply pressure"),)),
    Said(1, 8.0, 10.0, "1500", (SaidPhrase("value", "2", "one five hundred"),)),
    Said(
        1, 40.0, 41.0, "Hold the run, the strap is loose", (SaidPhrase("hold", "", "hold the run"),)
    ),
    Said(1, 90.0, 91.0, "mask back on", (SaidPhrase("challenge", "4", "mask back on"),)),
    Said(2, 91.0, 93.0, "not sealed", (SaidPhrase("deny", "4", "not sealed"),)),
)


def a_run(
    events: Sequence[Event] = EVENTS,
    said: Sequence[Said] = SAID,
    *,
    positions: Sequence[str] = ("conductor", "attendant"),
    decisions: Sequence[Decision] = (),
    start: datetime | None = START,
    sheet: str = SHEET,
    warnings: Sequence[str] = (),
) -> Run:
    """A run of 100 s that was never on a disk."""
    return Run(
        name="s-07",
        sheet=read_sheet(sheet),
        events=tuple(events),
        said=tuple(said),
        channels=tuple(
            Channel(n, f"audio/channel-{n}.flac", 100.0, position)
            for n, position in enumerate(positions, 1)
        ),
        start=start,
        start_source="option" if start else "",
        drift_ppb=0,
        model="tiny.en",
        version="0.1.0",
        warnings=tuple(warnings),
        seal="5e" * 32,
        remark="",
        outcomes=tuple(outcomes(events, decisions)),
        signatures=(),
        is_signed=False,
    )


def decided(row: int | None, verdict: Any, reason: str = "", **more: Any) -> Decision:
    reviewer = more.pop("reviewer", "C-12")
    return Decision(reviewer, START, verdict, row, more.pop("event", None), reason)


def make_folder(
    place: Path,
    events: Sequence[Event] = EVENTS,
    said: Sequence[Said] = SAID,
    *,
    channels: Sequence[np.ndarray] | None = None,
    positions: Mapping[str, str] | None = None,
    sheet: bytes = SHEET.encode(),
    start: datetime | None = START,
    rate: int = RATE,
) -> Path:
    """A run folder with the sound of its channels; two of 100 s unless given."""
    sounds = [a_sound(100.0, n) for n in (1, 2)] if channels is None else channels
    with RunFolder.create(place) as folder:
        audio = folder.partial / "audio"
        audio.mkdir()
        files = []
        for n, samples in enumerate(sounds, 1):
            path = audio / f"channel-{n}.flac"
            soundfile.write(path, samples, rate)
            files.append(
                AudioFile(place / "audio" / path.name, file_sha256(path), rate, 1, len(samples))
            )
        folder.save(_facts(sheet, files, positions, start), map(_record, said), events)
    return place


def _facts(
    sheet: bytes,
    files: Sequence[AudioFile],
    positions: Mapping[str, str] | None,
    start: datetime | None,
) -> RunFacts:
    return RunFacts(
        sheet_id="short",
        sheet_title="A short run",
        sheet_yaml=sheet,
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=tuple(files),
        versions={"voxlog": "0.1.0"},
        start=start,
        start_source="option" if start else "",
        settings={
            "positions": {"1": "conductor", "2": "attendant"} if positions is None else positions
        },
    )


def a_sound(seconds: float, pitch: int) -> np.ndarray:
    """A tone that comes and goes, so that a clip can be told from another."""
    t = np.arange(round(seconds * RATE)) / RATE
    return (0.3 * np.sin(2 * np.pi * 200 * pitch * t) * (np.sin(t) > 0)).astype(np.float32)


def _record(said: Said) -> dict[str, Any]:
    return {
        "channel": said.channel,
        "start_ms": round(said.start * 1000),
        "end_ms": round(said.end * 1000),
        "text": said.text,
        "heard": [
            {"act": act, "step": step, "text": text, "value": None, "evidence_millinats": 5000}
            for act, step, text in said.phrases
        ],
    }


def make_two_hours(place: Path) -> Path:
    """Two hours on four channels by the shipped sheet of 63 items, one finding in ten rows."""
    path = Path(__file__).parents[2] / "grammars" / "hypoxia-25.yaml"
    events, said = _two_hours(load_sheet(path))
    minute = [a_sound(60.0, n) for n in (1, 2, 3, 4)]
    return make_folder(
        place,
        events,
        said,
        channels=[np.tile(samples, 120) for samples in minute],
        positions={"1": "conductor", "2": "attendant", "3": "operator", "4": "monitor"},
        sheet=path.read_bytes(),
    )


def _two_hours(sheet: Sheet) -> tuple[list[Event], list[Said]]:
    """A row every twelve seconds: the items in order, and readings, calls and talk in between."""
    events: list[Event] = []
    said: list[Said] = []
    items = [(phase, step) for phase, step in sheet.steps if isinstance(step, Item)]
    for n in range(600):
        t = 12.0 * n + 1
        phase, item = items[n * len(items) // 600]
        is_first = n == 0 or (n - 1) * len(items) // 600 != n * len(items) // 600
        if is_first:
            answer = item.confirm[0] if item.confirm else "one two three"
            events.append(_answered(n, t, phase.id, item, answer))
            said += [
                Said(1, t, t + 2, item.ask[0], (SaidPhrase("challenge", item.key, item.ask[0]),)),
                Said(2, t + 3, t + 5, answer, (SaidPhrase("confirm", item.key, answer),)),
            ]
        elif n % 3 == 0:
            level = float(min(n * 100, 25_000) // 1000 * 1000)
            events.append(_call(t, phase.id, level))
        elif n % 3 == 1:
            events.append(_reading(n, t, phase.id))
        else:
            text = "something that nobody expected, and rather a lot of it"
            events.append(Event(t, t + 4, "note", phase.id, heard=text, p=0.97))
            said.append(Said(n % 4 + 1, t, t + 4, text, ()))
        if n in (200, 400):
            events.append(Event(t + 5, t + 6, "hold", phase.id, heard="hold the run", p=0.97))
            events.append(
                Event(
                    t + 9, t + 10, "resume", phase.id, heard="back to item", value=float(item.key)
                )
            )
    return events, said


def _answered(n: int, t: float, phase: str, item: Item, answer: str) -> Event:
    return Event(
        *(t, t + 5, "item", phase, item.key, item.by),
        status="confirmed" if n % 4 else "unconfirmed",
        heard=f"{item.ask[0]} / {answer}",
        p=0.99,
    )


def _call(t: float, phase: str, level: float) -> Event:
    heard = f"passing {level:.0f} / {level:.0f}"
    return Event(
        *(t, t + 4, "callout", phase, "climb", "operator"),
        status="confirmed",
        heard=heard,
        value=level,
        unit="ft",
        p=0.98,
    )


def _reading(n: int, t: float, phase: str) -> Event:
    value = 60.0 + n % 41
    return Event(
        *(t, t + 2, "reading", phase, "saturation", "monitor"),
        flags=("off-limit",) if value < 65 else (),
        heard=f"subject saturation {value:.0f} percent",
        value=value,
        unit="%",
        p=0.96,
    )
