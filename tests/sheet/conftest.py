"""A small right sheet, which tests break in one place at a time."""

import pytest

_SMALL = """\
voxlog-sheet: 1
id: small
title: A small run
source: invented for tests
positions: {conductor: Conductor, attendant: Attendant, operator: Operator}
asks: conductor
define:
  shut: "(shut | closed)"
hold: hold the run
resume: "resume at item {item}"
readings:
  - {id: pulse, by: attendant, say: "pulse {value}", unit: bpm, min: 50, max: 100}
phases:
  - id: ground
    title: Ground checks
    level: 0
    steps:
      - item: 1
        ask: intercom check
        by: attendant
        confirm: [loud and clear, five by five]
        deny: [not reading you]
      - item: 2
        ask: [oxygen supply, "supply pressure [please]"]
        by: operator
        stand-in: [attendant]
        value: {unit: psi, min: 1600, max: 2200, step: 50, say: "{value} [psi]"}
      - {item: 4, ask: inner door, by: attendant, group: doors, confirm: "door <shut>", deny: ajar}
      - {item: 5, ask: outer door, by: operator, group: doors, confirm: "hatch <shut>", deny: loose}
  - id: run
    title: Run
    steps:
      - {cue: masks-off, by: conductor, say: masks off on my mark, count: [three, two, one]}
      - {item: 6, ask: colour, by: attendant, confirm: lips pink, deny: lips blue, within: 4}
    callouts:
      - {id: climb, by: operator, say: "passing {value}", unit: ft, every: 5000, from: 5000,
         to: 25000, read-back: conductor, within: 6}
    elapsed:
      - {id: time-off, cue: masks-off, every: 30, until: 120, by: operator, say: "{value}"}
    readings:
      - {id: saturation, by: operator, say: "saturation {value}", unit: "%", min: 70, max: 100}
"""


@pytest.fixture
def small_sheet() -> str:
    """The text of a right sheet that uses every part of the format."""
    return _SMALL
