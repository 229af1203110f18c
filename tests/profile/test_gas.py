import pytest

from tests.profile.rows import call, cue, done, step
from tests.profile.simulated import sheet
from voxlog.follow.event import Event
from voxlog.profile.estimate import altitude_profile
from voxlog.profile.gas import breathing, pre_breathe
from voxlog.sheet.load import read_sheet

SHEET = read_sheet("""
voxlog-sheet: 1
id: gas
title: Gas
source: invented for tests, not for use
positions: {conductor: Conductor, operator: Chamber operator}
asks: conductor
phases:
  - id: ground
    title: Ground
    level: 0
    steps:
      - {item: 1, ask: ready, by: operator, confirm: all ready, deny: not ready}
      - {item: 2, ask: masks, by: operator, confirm: masks on, deny: masks off, gas: oxygen}
      - {cue: break, by: conductor, say: air break, gas: air}
      - {cue: again, by: conductor, say: oxygen again, gas: oxygen}
  - id: up
    title: Up
    callouts:
      - {id: climb, by: operator, say: "passing {value}", unit: ft,
         every: 5000, from: 5000, to: 25000}
""")
CLIMB = [call(2200, 5000, "up", "climb"), call(2260, 10_000, "up", "climb")]
READY = step(0, "ground", "1")
LAST = step(2100, "ground", "1", "confirmed", "repeated")


def spans(*rows: Event) -> list[tuple[str, float, float]]:
    breathed = breathing(SHEET, rows)
    assert breathed is not None
    return [(span.gas, span.since, span.until) for span in breathed.spans]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], []),
        # An item counts from the end of its answer, a cue from its go word.
        ([step(300, "ground", "2"), LAST], [("oxygen", 303, 2103)]),
        (
            [
                step(300, "ground", "2"),
                cue(900, "ground", "break"),
                cue(960, "ground", "again"),
                LAST,
            ],
            [("oxygen", 303, 900), ("air", 900, 960), ("oxygen", 960, 2103)],
        ),
        # Said twice is once.
        (
            [step(300, "ground", "2"), step(310, "ground", "2", "confirmed", "repeated"), LAST],
            [("oxygen", 303, 2103)],
        ),
    ],
)
def test_what_was_breathed_when(
    rows: list[Event], expected: list[tuple[str, float, float]]
) -> None:
    assert spans(*rows) == expected


@pytest.mark.parametrize(
    "row",
    [
        step(300, "ground", "2", "negative"),
        step(300, "ground", "2", "unconfirmed"),
        step(300, "ground", "2", "skipped"),
        step(300, "ground", "2", p=0.3),
        cue(300, "ground", "again", "unconfirmed"),
    ],
)
def test_a_change_that_was_not_confirmed_is_in_doubt_and_changes_nothing(row: Event) -> None:
    breathed = breathing(SHEET, [READY, row, LAST])
    assert breathed is not None
    assert breathed.spans == ()
    assert breathed.in_doubt == (row,)
    assert breathed.oxygen_s == 0


def test_a_sheet_that_marks_no_gas_says_nothing_of_it() -> None:
    assert breathing(sheet(), done((0, "ground", "1"))) is None


@pytest.mark.parametrize(
    ("rows", "since"),
    [
        ([step(300, "ground", "2")], 303),
        # The part after the break counts.
        ([step(300, "ground", "2"), cue(900, "ground", "break"), cue(960, "ground", "again")], 960),
        # Off oxygen when the chamber left the ground.
        ([step(300, "ground", "2"), cue(900, "ground", "break")], None),
        ([], None),
    ],
)
def test_the_oxygen_before_leaving(rows: list[Event], since: float | None) -> None:
    events = [READY, *rows, LAST, *CLIMB]
    breathed = breathing(SHEET, events)
    assert breathed is not None
    before = pre_breathe(altitude_profile(SHEET, events), breathed)
    if since is None:
        assert before is None
        return
    assert before is not None
    # 5,000 ft a minute: left at 2,140, but not before the last row and not at less than half that.
    assert before.since == since
    assert before.seconds == pytest.approx(2140 - since)
    assert before.seconds_between == pytest.approx((2103 - since, 2170 - since))


def test_who_never_left_has_no_pre_breathe() -> None:
    events = [READY, step(300, "ground", "2"), LAST]
    breathed = breathing(SHEET, events)
    assert breathed is not None
    assert pre_breathe(altitude_profile(SHEET, events), breathed) is None
