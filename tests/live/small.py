"""A sheet with gates, a level with a limit and questions, and utterances of it."""

from functools import cache

from tests.follow.scenario import Listed, as_heard, seconds_of
from voxlog.follow.event import Event, Status
from voxlog.sheet.load import read_sheet
from voxlog.sheet.phrases import sheet_phrases
from voxlog.speech.utterance import Utterance
from voxlog.speech.vocabulary import sayables

__all__ = ["SHEET", "call", "cue", "item", "listed", "plain", "said"]

SHEET = """\
voxlog-sheet: 1
id: small
title: A small run
source: invented for tests
positions: {conductor: Conductor, attendant: Attendant, operator: Operator}
asks: conductor
resume: "resume at item {item}"
ask-by-voice: {call-word: logbook}
readings:
  - {id: heart-rate, by: operator, say: "heart rate {value}", unit: bpm, min: 50, max: 100}
phases:
  - id: ground
    title: Ground checks
    level: 0
    steps:
      - {item: 1, ask: intercom check, by: attendant, confirm: loud and clear, deny: no sound}
      - item: 2
        ask: oxygen supply
        by: operator
        value: {unit: psi, min: 1600, max: 2200, step: 50}
      - {item: 3, ask: outside watch, by: operator, mandatory: false, confirm: set, deny: not set}
      - {item: 4, ask: inner door, by: attendant, group: doors, confirm: door shut, deny: ajar}
      - {item: 5, ask: outer door, by: operator, group: doors, confirm: hatch shut, deny: loose}
  - id: ascent
    title: Ascent
    gate: all
    steps:
      - {item: 6, ask: start the climb, by: operator, confirm: climbing, deny: unable to climb}
    callouts:
      - {id: climb, by: operator, say: "passing {value}", unit: ft, from: 5000, to: 10000,
         every: 5000}
      - {id: top, by: operator, say: "level at {value}", unit: ft, from: 18000, to: 18000,
         low: 1000, high: 30000, step: 1000}
  - id: plateau
    title: At 18,000 ft
    level: 18000
    time-limit: 600
    steps:
      - {item: 7, ask: altitude stable, by: operator, confirm: stable, deny: drifting}
  - id: exposure
    title: Mask off
    level: 18000
    steps:
      - {cue: masks-off, by: conductor, say: mask off on my mark, count: [three, two, one],
         gate: [3, plateau]}
      - {item: 8, ask: mask is clear, by: attendant, confirm: hanging clear, deny: strap caught}
  - id: descent
    title: Descent
    steps:
      - {item: 9, ask: start the descent, by: operator, confirm: coming down, deny: valve stuck}
"""


@cache
def listed(text: str = SHEET) -> Listed:
    sheet = read_sheet(text)
    phrases = sheet_phrases(sheet)
    return Listed(sheet, phrases, tuple(sayables(phrases)))


@cache
def plain() -> Listed:
    """The same sheet without its questions."""
    return listed(SHEET.replace("ask-by-voice: {call-word: logbook}\n", ""))


def said(
    start: float,
    words: str,
    evidence: float | None = None,
    *,
    channel: int = 0,
    text: str | None = None,
    known: Listed | None = None,
) -> Utterance:
    """An utterance of the sheet's words, or of talk. text: the free text, if it is another."""
    found = (known or listed()).heard_as(words, evidence)
    end = start + seconds_of(words)
    spoken = words if text is None else text
    return Utterance(channel, start, end, ((start, end),), spoken, as_heard(found))


def item(start: float, number: int, status: Status = "confirmed", *flags: str) -> Event:
    phase = next(phase.id for phase, step in listed().sheet.steps if step.key == str(number))
    return Event(
        start,
        start + 3,
        "item",
        phase,
        str(number),
        status=status,
        flags=flags,  # type: ignore[arg-type]
    )


def call(start: float, name: str, level: float) -> Event:
    return Event(start, start + 2, "callout", "ascent", name, value=level, unit="ft")


def cue(start: float, status: Status | None = None) -> Event:
    return Event(start, start + 1, "cue", "exposure", "masks-off", status=status)
