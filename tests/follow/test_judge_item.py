"""One exchange of an item or a cue, and the row it becomes."""

import math
from dataclasses import replace

import pytest

from tests.follow.cases import CHECKS, FLIGHT, act, weighed
from tests.follow.scenario import shown
from voxlog.follow.event import Event
from voxlog.follow.evidence import ActEvidence
from voxlog.follow.exchange import Exchange
from voxlog.follow.judge_item import Standing, judge_cue, judge_item, skipped_step
from voxlog.sheet.model import Cue, Item

STANDING = Standing(phase="ground", within=8.0)


def judged(
    number: int,
    asked: list[ActEvidence],
    answered: list[ActEvidence],
    standing: Standing = STANDING,
) -> Event:
    step = act(CHECKS, number)
    asks = tuple(range(len(asked)))
    answers = tuple(range(len(asked), len(asked) + len(answered)))
    exchange = Exchange(step, asks, answers, 0)
    item = CHECKS.sheet.item(number)
    assert isinstance(item, Item)
    return judge_item(item, exchange, [*asked, *answered], standing)


def ask(start: float = 10.0) -> ActEvidence:
    return weighed(CHECKS, start, dump_valve=5.0)


def answer(start: float = 12.0, **heard: float) -> ActEvidence:
    return weighed(CHECKS, start, **heard)


GOOD = answer(closed_and_guarded=5.0)


@pytest.mark.parametrize(
    ("asked", "answered", "standing", "expected"),
    [
        ([ask()], [GOOD], {}, "confirmed -"),
        ([], [GOOD], {}, "confirmed -"),
        ([ask()], [answer(valve_open=5.0)], {}, "negative -"),
        ([ask()], [answer(affirm=5.0)], {}, "confirmed -"),
        ([ask()], [answer(negative=5.0)], {}, "negative -"),
        ([ask()], [], {}, "unconfirmed -"),
        ([ask()], [], {"came_back": "receipt"}, "unconfirmed -"),
        ([ask()], [], {"came_back": "talk"}, "unconfirmed uncertain"),
        # Asked twice, or done before.
        ([ask(6.0), ask()], [GOOD], {}, "confirmed repeated"),
        ([ask()], [GOOD], {"repeated": True}, "confirmed repeated"),
        ([ask()], [GOOD], {"misplaced": True, "repeated": True}, "confirmed out-of-order;repeated"),
        # The last answer counts.
        ([ask()], [answer(valve_open=5.0), answer(14.0, valve_closed=5.0)], {}, "confirmed -"),
        ([ask()], [answer(valve_closed=5.0), answer(14.0, valve_open=5.0)], {}, "negative -"),
        # Confirmed or denied by a thin margin, by a wide one, and two ways to the same sense.
        ([ask()], [answer(valve_closed=5.0, valve_open=4.8)], {}, "confirmed uncertain"),
        ([ask()], [answer(valve_closed=4.8, valve_open=5.0)], {}, "confirmed uncertain"),
        ([ask()], [answer(valve_closed=5.0, valve_open=6.8)], {}, "confirmed uncertain"),
        ([ask()], [answer(valve_closed=5.0, valve_open=7.2)], {}, "negative uncertain"),
        ([ask()], [answer(valve_closed=5.0, valve_open=9.0)], {}, "negative -"),
        ([ask()], [answer(valve_closed=5.0, valve_open=1.0)], {}, "confirmed -"),
        ([ask()], [answer(valve_closed=5.0, closed_and_guarded=4.9)], {}, "confirmed -"),
        # Hardly more likely an answer than talk.
        ([ask()], [answer(valve_closed=-4.4)], {}, "confirmed uncertain"),
    ],
)
def test_status_and_flags(
    asked: list[ActEvidence],
    answered: list[ActEvidence],
    standing: dict[str, bool],
    expected: str,
) -> None:
    row = judged(3, asked, answered, replace(STANDING, **standing))
    assert f"{shown(row)[2]} {shown(row)[3]}" == expected


@pytest.mark.parametrize(
    ("asked", "answered", "is_late"),
    [
        # Challenges of 1 s: an answer 8 s after the end is in time.
        ([10.0], 19.0, False),
        ([10.0], 19.1, True),
        # The last challenge counts, and nothing is late that was not asked.
        ([2.0, 10.0], 19.0, False),
        ([], 100.0, False),
    ],
)
def test_late(asked: list[float], answered: float, is_late: bool) -> None:
    row = judged(3, [ask(start) for start in asked], [answer(answered, valve_closed=5.0)])
    assert ("late" in row.flags) == is_late


@pytest.mark.parametrize(
    ("values", "expected", "note"),
    [
        ([{"eighteen_hundred_psi": 5.0}], "confirmed - 1800", ""),
        # Limits are within.
        ([{"sixteen_hundred": 5.0}], "confirmed - 1600", ""),
        ([{"twenty_two_hundred": 5.0}], "confirmed - 2200", ""),
        ([{"fifteen_fifty": 5.0}], "confirmed off-limit 1550", ""),
        ([{"twenty_two_fifty": 5.0}], "confirmed off-limit 2250", ""),
        # Two values about equally likely, and one value said in two ways.
        (
            [{"sixteen_hundred": 5.0, "sixteen_fifty": 4.9}],
            "confirmed uncertain 1600",
            "may be 1650",
        ),
        ([{"sixteen_hundred": 5.0, "one_thousand_six_hundred": 4.9}], "confirmed - 1600", ""),
        # Corrected, and said again.
        (
            [{"fifteen_fifty": 5.0}, {"eighteen_hundred": 5.0}],
            "confirmed - 1800",
            "corrected from 1550",
        ),
        ([{"eighteen_hundred": 5.0}, {"eighteen_hundred_psi": 5.0}], "confirmed - 1800", ""),
        # Asked for a value, and there is none to give.
        ([{"negative": 5.0}], "negative - -", ""),
    ],
)
def test_values(values: list[dict[str, float]], expected: str, note: str) -> None:
    asked = [weighed(CHECKS, 10.0, oxygen_supply_pressure=5.0)]
    row = judged(2, asked, [answer(12.0 + 2 * n, **heard) for n, heard in enumerate(values)])
    assert " ".join(shown(row)[2:]) == expected
    assert row.note == note
    assert row.unit == ("psi" if row.value is not None else "")


def test_the_row_of_an_exchange() -> None:
    row = judged(3, [ask(6.0), ask(10.0)], [GOOD])
    assert (row.start, row.end, row.kind, row.phase, row.item) == (6.0, 13.0, "item", "ground", "3")
    assert (row.position, row.heard) == ("operator", "dump valve / dump valve / closed and guarded")
    assert judged(3, [], [GOOD]).note == "challenge not heard"
    assert judged(3, [], [GOOD]).start == 12.0
    # In doubt by its place, and as sure as it sounds.
    unasked = judged(3, [], [answer(12.0, closed_and_guarded=1.0)])
    assert unasked.flags == ("uncertain",)
    assert unasked.p == pytest.approx(0.9 / (1 + math.exp(-1.0)))
    unanswered = judged(3, [ask()], [])
    assert (unanswered.start, unanswered.end) == (10.0, 11.0)


def test_p_falls_with_doubt_in_any_part() -> None:
    """About the challenge, whether it was answered, how, and with which value."""
    clear = judged(3, [ask()], [GOOD]).p
    doubtful = [
        judged(3, [weighed(CHECKS, 10.0, dump_valve=-1.0)], [GOOD]),
        judged(3, [ask()], [answer(closed_and_guarded=-3.5)]),
        judged(3, [ask()], [answer(valve_closed=5.0, valve_open=5.5)]),
    ]
    assert 0.97 < clear <= 1
    assert all(row.p < 0.9 for row in doubtful)


@pytest.mark.parametrize(
    ("words", "bursts", "expected"),
    [
        ("now", [(5.0, 5.4)], (5.0, 5.4)),
        # The last burst is the go word.
        ("three_two_one_now", [(2, 2.4), (3, 3.4), (4, 4.4), (5, 5.4)], (5, 5.4)),
        ("three_two_one_now", [(2, 4.4), (5, 5.4)], (5, 5.4)),
        # One burst that is too short for four words, and one that is not: the last quarter.
        ("three_two_one_now", [(5.0, 5.7)], (5.0, 5.7)),
        ("three_two_one_now", [(2.0, 4.0)], (3.5, 4.0)),
    ],
)
def test_a_cue_is_the_moment_of_its_go_word(
    words: str, bursts: list[tuple[float, float]], expected: tuple[float, float]
) -> None:
    heard = weighed(FLIGHT, **{words: 5.0})
    spoken = replace(heard.utterance, bursts=tuple(bursts))
    cue = FLIGHT.sheet.steps[2].step
    assert isinstance(cue, Cue)
    row = judge_cue(cue, Exchange(2, (), (0,), 0), [replace(heard, utterance=spoken)], "plateau")
    assert (row.start, row.end) == pytest.approx(expected)
    assert shown(row) == ("cue", "masks-off", "-", "-", "-")


@pytest.mark.parametrize(
    ("pause", "second", "expected"),
    [
        (0.7, {"three_two_one": 9.0, "now": 7.0}, 4.7),  # a slow count in two pieces
        (0.7, {"three_two_one": 9.0, "now": -1.0}, 3.5),  # no go word in the second
        (0.7, {}, 3.5),
        (1.2, {"now": 7.0}, 3.5),
    ],
)
def test_the_go_word_ends_a_count_that_goes_on(
    pause: float, second: dict[str, float], expected: float
) -> None:
    first, later = weighed(FLIGHT, three_two_one_now=9.0), weighed(FLIGHT, **second)
    spans = [(2.0, 4.0), (4.0 + pause, 4.4 + pause)]
    heard = [
        replace(one, utterance=replace(one.utterance, start=start, end=end, bursts=((start, end),)))
        for one, (start, end) in zip((first, later), spans, strict=True)
    ]
    cue = FLIGHT.sheet.steps[2].step
    assert isinstance(cue, Cue)
    assert judge_cue(cue, Exchange(2, (), (0,), 0), heard, "plateau").start == expected


def test_a_cue_without_its_go_word_is_unconfirmed() -> None:
    heard = weighed(FLIGHT, 5.0, mask_off_on_my_mark=5.0)
    cue = FLIGHT.sheet.steps[2].step
    assert isinstance(cue, Cue)
    row = judge_cue(cue, Exchange(2, (0,), (), 0), [heard], "plateau")
    assert shown(row) == ("cue", "masks-off", "unconfirmed", "-", "-")
    assert row.start == 6.0


@pytest.mark.parametrize(("index", "kind"), [(0, "item"), (2, "cue")])
def test_a_skipped_step(index: int, kind: str) -> None:
    phase, step = FLIGHT.sheet.steps[index]
    row = skipped_step(step, phase.id, 33.0, 0.9)
    assert (row.kind, row.item, row.phase, row.status) == (kind, step.key, phase.id, "skipped")
    assert (row.start, row.end, row.heard, row.p) == (33.0, 33.0, "", 0.9)
