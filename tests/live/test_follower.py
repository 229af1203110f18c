"""The live follower ends where the follower of finished recordings does, and says little twice."""

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.follow.scenario import Scenario, read_scenario
from tests.follow.test_scenarios import FILES, read
from tests.live.small import listed, said
from voxlog.follow.event import Event
from voxlog.follow.follower import follow
from voxlog.follow.query import follow_run
from voxlog.live.follower import LiveFollower
from voxlog.live.provisional import Added, Change, Corrected, NumberedRow, Withdrawn, apply_changes
from voxlog.log.record import rounded
from voxlog.speech.utterance import Utterance


def follower(scenario: Scenario) -> LiveFollower:
    return LiveFollower(scenario.listed.sheet, scenario.listed.phrases, scenario.positions)


def run_through(scenario: Scenario, live: LiveFollower) -> list[Change]:
    """Push each utterance when it ends, let each second tick, and finish."""
    made: list[Change] = []
    for one in scenario.utterances:
        made += live.tick(one.start)
        made += live.push(one)
    return made + live.finish(scenario.end)


def scenario_of(*heard: str, sheet: str = "checks", end: float | None = None) -> Scenario:
    head = f"A run.\nsheet: {sheet}\n" + (f"end: {end}\n" if end else "")
    return read_scenario(head + "heard\n" + "\n".join(heard) + "\nevents\n")


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_changes_of_a_run_add_up_to_its_final_pass(file: Path) -> None:
    scenario = read(file)
    live = follower(scenario)
    rows = apply_changes([], run_through(scenario, live))
    assert rows == live.rows
    assert Counter(row.event for row in rows) == Counter(map(rounded, scenario.events()))
    found = live.difference()
    assert found.withdrawn + found.corrected <= 2
    assert found.only_at_end <= 2


@settings(max_examples=25)
@given(st.data())
def test_utterances_in_any_order_and_in_any_batches_end_in_the_same_rows(
    data: st.DataObject,
) -> None:
    """A channel may be recognised later than another."""
    scenario = read(data.draw(st.sampled_from(FILES[::7])))
    waiting = list(data.draw(st.permutations(scenario.utterances)))
    live = follower(scenario)
    made: list[Change] = []
    while waiting:
        count = data.draw(st.integers(1, len(waiting)))
        made += live.push(*waiting[:count])
        waiting = waiting[count:]
    made += live.finish(scenario.end)
    rows = apply_changes([], made)
    assert Counter(row.event for row in rows) == Counter(map(rounded, scenario.events()))


@pytest.mark.parametrize("file", FILES[::9], ids=lambda file: file.stem)
def test_a_run_taken_up_again_reports_only_what_its_log_lacks(file: Path) -> None:
    scenario = read(file)
    half = len(scenario.utterances) // 2
    before = follower(scenario)
    for one in scenario.utterances[:half]:
        before.push(one)
    live = LiveFollower(
        before.sheet,
        before.phrases,
        before.positions,
        rows=list(before.rows),
        first=dict(before.first),
        next_number=before.next_number,
    )
    assert live.push(*scenario.utterances[:half]) == []
    made = live.push(*scenario.utterances[half:])
    assert all(change.number >= before.next_number for change in made if isinstance(change, Added))
    live.finish(scenario.end)
    assert Counter(row.event for row in live.rows) == Counter(map(rounded, scenario.events()))


ASKED = "1.0  conductor  intercom check"


@pytest.mark.parametrize(
    ("heard", "now", "reported"),
    [
        # an item that was asked has its time to be answered, and then some
        ((ASKED,), 5.0, []),
        ((ASKED,), 15.0, [("item", "1", "unconfirmed")]),
        ((ASKED, "3.0  attendant  loud and clear"), 4.0, [("item", "1", "confirmed")]),
        # the run went on without an answer
        ((ASKED, "6.0  conductor  oxygen supply pressure"), 6.5, [("item", "1", "unconfirmed")]),
        # one step that was passed over may only seem so; two later ones, or some time, make sure
        ((ASKED, "9.0  conductor  dump valve"), 11.0, [("item", "1", "unconfirmed")]),
        (
            (ASKED, "9.0  conductor  dump valve"),
            25.0,
            [
                ("item", "1", "unconfirmed"),
                ("item", "2", "skipped"),
                ("item", "3", "unconfirmed"),
            ],
        ),
        (
            (ASKED, "9.0  conductor  dump valve", "12.0  conductor  mask hose connected"),
            13.0,
            [("item", "1", "unconfirmed"), ("item", "2", "skipped"), ("item", "3", "unconfirmed")],
        ),
        # the end of what was recorded so far is not the end of the run
        ((ASKED, "3.0  attendant  loud and clear"), 500.0, [("item", "1", "confirmed")]),
    ],
)
def test_what_was_not_heard_is_reported_when_it_had_its_time(
    heard: tuple[str, ...], now: float, reported: list[tuple[str, str, str]]
) -> None:
    scenario = scenario_of(*heard)
    live = follower(scenario)
    live.push(*scenario.utterances)
    live.tick(now)
    found = [(row.event.kind, row.event.item, row.event.status) for row in live.rows]
    assert found == reported


def test_what_is_held_back_is_shown_all_the_same() -> None:
    scenario = scenario_of(ASKED)
    live = follower(scenario)
    assert live.push(*scenario.utterances) == []
    assert [(event.item, event.status) for event in live.events] == [("1", "unconfirmed")]


def test_a_late_answer_corrects_the_row_that_was_reported() -> None:
    scenario = scenario_of(
        ASKED, "6.0  conductor  oxygen supply pressure", "9.0  attendant  loud and clear"
    )
    live = follower(scenario)
    made = [change for one in scenario.utterances for change in live.push(one)]
    kinds = [(type(change), change.number, change.event.status) for change in made]
    assert kinds == [(Added, 1, "unconfirmed"), (Corrected, 1, "confirmed")]


def test_two_segments_heard_again_as_one_replace_what_they_were_heard_as() -> None:
    whole = scenario_of(ASKED, "3.0  attendant  loud and clear")
    halves = scenario_of("3.0  attendant  loud", "3.4  attendant  clear").utterances
    live = follower(whole)
    live.push(whole.utterances[0])
    live.push(*halves)
    live.push(whole.utterances[1], instead_of=halves)
    live.finish(whole.end)
    assert Counter(row.event for row in live.rows) == Counter(map(rounded, whole.events()))


def test_a_doubtful_go_word_waits_for_the_rest_of_the_count() -> None:
    scenario = scenario_of(
        "1.0  conductor  mask off on my mark",
        "4.0  conductor  three  -4  now  -3",
        "7.0  conductor  now",
        sheet="flight",
    )
    live = follower(scenario)
    reported = [
        [change.event.start for change in live.push(one) if change.event.kind == "cue"]
        for one in scenario.utterances
    ]
    assert reported == [[], [], [7.0]]


def test_nothing_heard_is_an_empty_run_until_it_ends() -> None:
    scenario = scenario_of(ASKED)
    live = follower(scenario)
    assert live.push() == []
    assert live.tick(3600.0) == []
    made = live.finish(7200.0)
    expected = follow([], scenario.listed.sheet, scenario.listed.phrases, 7200.0)
    assert [change.event for change in made] == [rounded(event) for event in expected]
    assert live.difference().only_at_end == len(expected)


def test_without_questions_a_run_is_followed_as_ever() -> None:
    for file in FILES[::5]:
        scenario = read(file)
        assert (
            follow_run(
                scenario.utterances,
                scenario.listed.sheet,
                scenario.listed.phrases,
                scenario.end,
                scenario.positions,
            )
            == scenario.events()
        )


def test_rows_of_the_log_are_the_rows_of_the_follower() -> None:
    """What a log gives back is on its grid of samples, and so are the follower's own rows."""
    scenario = read(FILES[0])
    live = follower(scenario)
    run_through(scenario, live)
    assert all(rounded(row.event) == row.event for row in live.rows)
    assert not any(isinstance(row, Withdrawn | Event) for row in live.rows)
    assert all(isinstance(row, NumberedRow) for row in live.rows)


def test_talk_waits_for_the_longer_search_and_an_answer_does_not() -> None:
    """What a quick search makes nothing of may yet be a phrase."""
    live = LiveFollower(listed().sheet, listed().phrases)
    talk = Utterance(0, 1.0, 2.0, ((1.0, 2.0),), "lunch", ())
    assert live.push(talk, is_settled=False) == []
    [change] = live.tick(2.0)
    assert (type(change), change.event.kind) == (Added, "note")
    asked = said(3.0, "intercom check", 9.0), said(5.0, "loud and clear", 9.0)
    [change] = live.push(*asked, is_settled=False)
    assert (change.event.kind, change.event.status) == ("item", "confirmed")
    # Talk that was told stays told.
    assert live.push(said(9.0, "roger", 9.0), is_settled=False) == []


def test_what_a_gate_goes_by_does_not_hang_on_how_much_was_understood() -> None:
    """A check that is asked in a loud room was asked all the same."""
    talk = [f"{start}.0  conductor  they went the other way round" for start in range(20, 120, 4)]
    scenario = scenario_of("1.0  items 1 to 9", *talk, "124.0  conductor  clear for ascent")
    live = follower(scenario)
    live.push(*scenario.utterances)
    asked, judged = (
        next(row for row in rows if row.item == "10") for rows in (live.events, live.judged)
    )
    assert (asked.status, judged.status) == ("unconfirmed", "unconfirmed")
    quiet = follower(scenario)
    quiet.push(*(one for one in scenario.utterances if one.heard))
    [alone] = [row for row in quiet.judged if row.item == "10"]
    assert asked.p < judged.p == alone.p
    assert judged.p > 0.5
