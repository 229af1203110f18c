import pytest

from tests.profile.rows import call, cue, step
from tests.profile.simulated import sheet, simulate
from voxlog.follow.event import Event
from voxlog.profile.ambient import ambient_pressure
from voxlog.profile.estimate import altitude_profile
from voxlog.profile.physiology import Physiology, level_facts, physiology, tension
from voxlog.profile.pressure import PA_PER_MMHG, Pressure
from voxlog.profile.rapid import ideal_decompression_s
from voxlog.sheet.load import read_sheet

DROP = """
voxlog-sheet: 1
id: drop
title: A rapid decompression
source: invented for tests, not for use
positions: {conductor: Conductor, operator: Chamber operator}
asks: conductor
phases:
  - id: ground
    title: Ground
    level: 0
    steps:
      - {item: 1, ask: masks, by: operator, confirm: masks on, deny: masks off, gas: oxygen}
  - id: wait
    title: At 8,000 ft
    level: 8000
    steps:
      - {item: 2, ask: ears, by: operator, confirm: clear, deny: pain}
      - cue: drop-now
        by: conductor
        say: decompression on my mark
        decompression: {to: 22000, volume-m3: 30, orifice-m2: 0.25}
        gas: air
    callouts:
      - {id: up, by: operator, say: "passing {value}", unit: ft, every: 4000, from: 4000, to: 8000}
      - {id: high, by: operator, say: "level at {value}", unit: ft, from: 22000, to: 22000}
  - id: after
    title: At 22,000 ft
    level: 22000
    steps:
      - {item: 3, ask: mask on, by: operator, confirm: sealed, deny: open, gas: oxygen}
"""
ROWS = [
    step(0, "ground", "1"),
    call(100, 4000, "wait", "up"),
    call(160, 8000, "wait", "up"),
    step(300, "wait", "2"),
    cue(400, "wait", "drop-now"),
    call(404, 22_000, "wait", "high"),
    step(460, "after", "3"),
]


def facts(text: str = DROP, rows: list[Event] = ROWS) -> Physiology:
    sheet_ = read_sheet(text)
    return physiology(sheet_, rows, altitude_profile(sheet_, rows))


def test_the_levels_kept_have_pressures_and_tensions() -> None:
    levels = facts().levels
    assert [round(level.pressure.mmhg) for level in levels] == [760, 565, 321]
    ground, wait, after = levels
    assert ground.air.alveolar == pytest.approx(101.5, abs=0.05)
    assert wait.oxygen.inspired == pytest.approx(517.5, abs=0.05)
    # On air at 22,000 ft the formula would leave a subject less oxygen than carbon dioxide.
    assert after.air.alveolar is None
    assert after.oxygen.alveolar is not None


def test_a_decompression_is_timed_and_has_its_ideal() -> None:
    (drop,) = facts().decompressions
    assert (drop.cue, drop.before, drop.to, drop.called_after) == ("drop-now", 8000, 22_000, 4)
    inside, outside = ambient_pressure(8000, "ft"), ambient_pressure(22_000, "ft")
    assert inside is not None
    assert outside is not None
    assert drop.ideal_s == ideal_decompression_s(30, 0.25, inside, outside)
    # 30 m3 through a quarter of a square metre: about half a second.
    assert drop.ideal_s == pytest.approx(0.52, abs=0.05)
    assert {row.altitude_ft for row in drop.published} == {22_000}


@pytest.mark.parametrize(
    ("text", "rows", "called", "has_ideal"),
    [
        # Nobody gave a volume.
        (DROP.replace(", volume-m3: 30, orifice-m2: 0.25", ""), ROWS, 4, False),
        # Nobody was heard to call the level.
        (DROP, [row for row in ROWS if row.value != 22_000], None, True),
        # A chamber that was up there already.
        (DROP.replace("to: 22000, vol", "to: 4000, vol"), ROWS, None, False),
    ],
)
def test_what_is_not_known_of_a_decompression_is_none(
    text: str, rows: list[Event], called: float | None, has_ideal: bool
) -> None:
    (drop,) = facts(text, rows).decompressions
    assert drop.called_after == called
    assert (drop.ideal_s is not None) == has_ideal


def test_a_cue_whose_go_word_was_not_heard_is_no_decompression() -> None:
    rows = [row for row in ROWS if row.kind != "cue"]
    rows.append(cue(400, "wait", "drop-now", "unconfirmed"))
    assert facts(rows=rows).decompressions == ()


def test_time_on_air_at_altitude_has_what_is_published_for_it() -> None:
    (off,) = facts().off_oxygen
    # From the call of the level to the mask; the way there is the decompression's.
    assert (off.level, off.since, off.until) == (22_000, 404, 463)
    assert len({(row.low_s, row.high_s) for row in off.published}) > 1
    assert len({row.source for row in off.published}) > 1


def test_time_above_is_given_for_the_levels_of_the_sheet_that_were_reached() -> None:
    assert [each.level for each in facts().above] == [22_000, 8000, 4000]
    low = [row for row in ROWS if (row.value or 0) < 5000 and row.phase != "after"][:2]
    assert [each.level for each in facts(rows=low).above] == [4000]


def test_the_oxygen_before_the_ascent_is_found() -> None:
    before = facts().pre_breathe
    assert before is not None
    # On at 3 s; at 4,000 ft a minute the ground was left 60 s before the first call.
    assert before.seconds == pytest.approx(37)


@pytest.mark.parametrize(
    ("barometer", "inspired", "alveolar"),
    [(760, True, True), (300, True, False), (40, False, False)],
)
def test_a_tension_that_means_nothing_is_not_shown(
    barometer: float, inspired: bool, alveolar: bool
) -> None:
    shown = tension(Pressure(barometer * PA_PER_MMHG), 0.2095)
    assert (shown.inspired is not None, shown.alveolar is not None) == (inspired, alveolar)


def test_a_unit_without_a_pressure_has_no_facts() -> None:
    assert level_facts(3, "g") is None


def test_a_hyperbaric_session_has_depths_and_no_altitudes() -> None:
    text = DROP.replace("unit: ft", "unit: msw").replace("level: 8000", "level: 14")
    text = text.replace("every: 4000, from: 4000, to: 8000", "every: 7, from: 7, to: 14")
    rows = [
        step(0, "ground", "1"),
        call(100, 7, "wait", "up", unit="msw"),
        call(160, 14, "wait", "up", unit="msw"),
        step(300, "wait", "2"),
    ]
    found = facts(text, rows)
    bottom = found.levels[-1]
    # 14 msw are 1.4 bar on top of the surface's 1.01325.
    assert bottom.pressure.hpa == pytest.approx(2413.25)
    assert bottom.oxygen.inspired == pytest.approx(2413.25 / 1.33322387415 - 47)
    assert found.off_oxygen == ()
    assert any("depth" in caution for caution in found.cautions)
    assert not any("atmosphere" in caution for caution in found.cautions)


WORDS_OF_A_DECISION = ("safe", "fit to", "cleared", "no risk", "low risk", "ok to")


@pytest.mark.parametrize(
    ("events", "count"),
    [
        ([], 1),
        (ROWS[1:2], 2),
        (ROWS, 6),
    ],
)
def test_cautions_stand_beside_what_is_there(events: list[Event], count: int) -> None:
    cautions = facts(rows=events).cautions
    assert len(cautions) == count
    assert "neither say go on nor stop" in cautions[0]
    assert "nothing here predicts decompression sickness" in cautions[0]
    assert not [c for c in cautions if any(word in c.lower() for word in WORDS_OF_A_DECISION)]


@pytest.mark.parametrize("seed", [11, 12])
def test_a_whole_simulated_run(seed: int) -> None:
    run = simulate(seed)
    whole = sheet()
    found = physiology(whole, run.events, altitude_profile(whole, run.events))
    assert [level.level for level in found.levels] == [0, 8000, 25_000, 0]
    assert found.gas is None
    # The truth of the simulated rates is 1,500 to 5,000 a minute, each varied by 40 %.
    assert all(each.slowest < 7000 for each in found.rates)
