"""From phrases to acts."""

from collections.abc import Sequence

import numpy as np
import pytest

from tests.follow.cases import CHECKS, FLIGHT, act, weighed
from tests.follow.scenario import Listed
from voxlog.follow.evidence import DENIAL, UNHEARD

VALVE, PRESSURE, HOSE, CUE = act(CHECKS, 3), act(CHECKS, 2), act(CHECKS, 4), 2


def heard_at(values: np.ndarray) -> dict[int, float]:
    return {step: float(value) for step, value in enumerate(values) if value > UNHEARD}


def test_a_challenge_asks_its_step_only() -> None:
    found = weighed(CHECKS, dump_valve=4.0)
    assert heard_at(found.ask) == {VALVE: 4.0}
    assert heard_at(found.answer) == {}
    assert (found.side, found.sides, found.asked) == (0.0, (), {VALVE: "dump valve"})


def test_an_answer_lists_its_ways_best_first() -> None:
    found = weighed(CHECKS, valve_closed=3.0, valve_open=6.0)
    assert heard_at(found.answer) == {VALVE: 6.0 - DENIAL}
    ways = [(way.act, way.text, way.evidence) for way in found.ways(VALVE)]
    assert ways == [("deny", "valve open", 6.0 - DENIAL), ("confirm", "valve closed", 3.0)]


def test_a_value_carries_its_number() -> None:
    found = weighed(CHECKS, one_thousand_eight_hundred_psi=3.0)
    assert {way.value for way in found.ways(PRESSURE)} == {1800.0}


@pytest.mark.parametrize(
    ("known", "word", "items"),
    [
        # No cue; and "affirm" is no value.
        (FLIGHT, "affirm", (1, 2, 3, 4)),
        (FLIGHT, "negative", (1, 2, 3, 4)),
        (CHECKS, "affirm", (1, 3, 4, 5, 6, 8, 9, 10)),
        (CHECKS, "negative", range(1, 11)),
    ],
)
def test_words_answer_every_item_that_they_can(
    known: Listed, word: str, items: Sequence[int]
) -> None:
    found = weighed(known, **{word: 3.0})
    assert sorted(heard_at(found.answer)) == [act(known, number) for number in items]
    sense = {"affirm": "confirm", "negative": "deny"}[word]
    assert {way.act for step in heard_at(found.answer) for way in found.ways(step)} == {sense}
    # A sheet's own words come before them.
    assert max(heard_at(found.answer).values()) < 3.0
    # They may be said to something else.
    assert (found.sides[0].act, found.sides[0].evidence < 3.0) == (word, True)


@pytest.mark.parametrize(
    ("position", "expected"),
    [("", 4.0), ("operator", 4.0), ("attendant", UNHEARD), ("conductor", UNHEARD)],
)
def test_the_wrong_position_is_as_good_as_not_heard(position: str, expected: float) -> None:
    found = weighed(CHECKS, position=position, closed_and_guarded=4.0)
    assert found.answer[VALVE] == expected


def test_a_stand_in_may_answer_and_affirm() -> None:
    assert weighed(CHECKS, position="operator", loud_and_clear=4.0).answer[0] == 4.0
    affirmed = weighed(CHECKS, position="operator", affirm=4.0)
    assert sorted(heard_at(affirmed.answer)) == [act(CHECKS, n) for n in (1, 3, 10)]


@pytest.mark.parametrize(
    "words", ["now", "three_two_one_now", "mask_off_on_my_mark_three_two_one_now"]
)
def test_a_go_word_answers_the_cue(words: str) -> None:
    assert heard_at(weighed(FLIGHT, **{words: 2.0}).answer) == {CUE: 2.0}


@pytest.mark.parametrize("words", ["mask_off_on_my_mark", "three_two_one"])
def test_an_announcement_asks_the_cue(words: str) -> None:
    assert heard_at(weighed(FLIGHT, **{words: 2.0}).ask) == {CUE: 2.0}


@pytest.mark.parametrize(
    ("words", "act_", "id_", "value"),
    [
        ("passing_ten_thousand", "callout", "climb", 10000.0),
        ("time_forty", "elapsed", "time-off", 40.0),
        ("saturation_eighty_eight", "reading", "saturation", 88.0),
        ("hold_the_run", "hold", "", None),
        ("roger", "receipt", "", None),
        ("say_again", "say-again", "", None),
        ("stand_by", "stand-by", "", None),
        ("disregard", "disregard", "", None),
        ("correction", "correction", "", None),
    ],
)
def test_side_acts(words: str, act_: str, id_: str, value: float | None) -> None:
    found = weighed(FLIGHT, **{words: 2.0})
    assert found.side == 2.0
    side = found.sides[0]
    assert (side.act, side.id, side.value) == (act_, id_, value)
    assert not heard_at(found.ask)
    assert not heard_at(found.answer)


def test_a_side_act_far_behind_the_best_reading_is_none() -> None:
    """A challenge that sounds a little like a callout; and one that may well be a callout."""
    assert weighed(FLIGHT, start_the_climb=8.0, passing_ten_thousand=2.0).side == 0.0
    assert weighed(FLIGHT, start_the_climb=8.0, passing_ten_thousand=7.0).side == 7.0
    # What the speaker cannot say is not the best reading.
    found = weighed(FLIGHT, position="monitor", start_the_climb=8.0, time_forty=2.0)
    assert found.side == 2.0


def test_talk_has_the_evidence_of_talk() -> None:
    found = weighed(CHECKS, roger=-3.0, dump_valve=-4.0)
    assert found.side == 0.0


def test_a_resume_leads_to_an_item_that_there_is() -> None:
    found = weighed(FLIGHT, resume_at_item_three=4.0)
    assert dict(found.resume) == {act(FLIGHT, 3): 4.0}
    assert not found.sides
