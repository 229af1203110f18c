"""The alignment against general-purpose libraries, and as a table of courses."""

import time
from collections.abc import Sequence
from dataclasses import fields
from statistics import median

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from tests.follow.trellis import Model, cost_of, least_cost
from voxlog.follow.alignment import Emission, Prices, align

STEPS = 5
UNHEARD = -12.0


def emission(steps: int = STEPS, side: float = 0.0, **heard: float) -> Emission:
    """What was heard: ask3=4 is evidence of 4 nats that step 3 was asked; steps count from 0."""
    ask, answer = np.full(steps, UNHEARD), np.full(steps, UNHEARD)
    resume = {}
    for name, evidence in heard.items():
        kind, step = name[:-1], int(name[-1])
        if kind == "resume":
            resume[step] = evidence
        else:
            {"ask": ask, "answer": answer}[kind][step] = evidence
    return Emission(ask, answer, side, resume)


def course(*heard: Emission, **rules: Sequence[int] | Sequence[Sequence[int]]) -> str:
    """The best course in letters: ? asked, ! answered, > resumed, and - for a side act."""
    found = align(heard, len(heard[0].ask), Prices(), **rules)
    signs = {"ask": "?", "answer": "!", "resume": ">", "side": "-"}
    return " ".join("-" if move == "side" else f"{signs[move]}{step}" for move, step in found.moves)


TALK = emission(ask0=-6, answer0=-6)
ASK, ANSWER = ([emission(**{f"{kind}{n}": 5}) for n in range(STEPS)] for kind in ("ask", "answer"))
ANY_ANSWER = emission(answer0=5, answer1=5, answer2=5, answer3=5, answer4=5)


@pytest.mark.parametrize(
    ("heard", "expected"),
    [
        # In order; free talk between.
        ([ASK[0], ANSWER[0], ASK[1], ANSWER[1]], "?0 !0 ?1 !1"),
        ([TALK, ASK[0], TALK, ANSWER[0], TALK], "- ?0 - !0 -"),
        # An answer that fits every item belongs to the one that was asked.
        ([ASK[0], ANY_ANSWER, ASK[1], ANY_ANSWER], "?0 !0 ?1 !1"),
        ([ASK[0], ANSWER[0], ASK[3], ANY_ANSWER], "?0 !0 ?3 !3"),
        # Skipped, gone back to, asked twice, not answered, not asked.
        ([ASK[0], ANSWER[0], ASK[4], ANSWER[4]], "?0 !0 ?4 !4"),
        ([ASK[0], ANSWER[0], ASK[2], ANSWER[2], ASK[1], ANSWER[1]], "?0 !0 ?2 !2 ?1 !1"),
        ([ASK[0], ASK[0], ANSWER[0]], "?0 ?0 !0"),
        ([ASK[0], ASK[1], ANSWER[1]], "?0 ?1 !1"),
        ([ASK[0], ANSWER[0], ANSWER[1], ASK[2]], "?0 !0 !1 ?2"),
        # A resume leads to the place before its step, so that the step itself comes next.
        ([ASK[3], ANSWER[3], emission(resume1=5), ASK[1], ANY_ANSWER], "?3 !3 >1 ?1 !1"),
        # Weak evidence of what comes next beats weak evidence of what is far away.
        ([ASK[0], ANSWER[0], emission(ask1=2, ask4=2), ANSWER[1]], "?0 !0 ?1 !1"),
        # What follows decides what came before.
        ([ASK[0], ANSWER[0], emission(ask1=2, ask2=2), ANSWER[2], ASK[3]], "?0 !0 ?2 !2 ?3"),
        # Chatter with an item's words: better heard as talk.
        ([ASK[0], emission(ask3=-1), ANSWER[0], ASK[1]], "?0 - !0 ?1"),
    ],
)
def test_the_best_course(heard: list[Emission], expected: str) -> None:
    assert course(*heard) == expected


def test_items_of_a_group_are_done_in_any_order() -> None:
    """What is unclear between a group and a step outside of it belongs to the group."""
    unclear = emission(ask0=3, ask4=3.5)
    heard = (ASK[2], ANSWER[2], unclear, ANY_ANSWER, ASK[1], ANSWER[1])
    assert course(*heard, groups=[[0, 1, 2]]) == "?2 !2 ?0 !0 ?1 !1"


def test_a_cue_needs_no_announcement() -> None:
    go = emission(answer1=3)
    assert course(ASK[0], ANSWER[0], go) == course(ASK[0], ANSWER[0], go, cues=[1]) == "?0 !0 !1"
    prices = Prices()
    with_cue = align([ANSWER[0]], STEPS, prices, cues=[0]).total
    assert with_cue == pytest.approx(align([ANSWER[0]], STEPS, prices).total + prices.unasked)


def test_nothing_heard_is_the_empty_course() -> None:
    found = align([], STEPS, Prices())
    assert (found.moves, found.total) == ((), 0.0)


def test_a_sheet_without_steps_has_only_side_acts() -> None:
    found = align([emission(0, side=2.0)] * 3, 0, Prices())
    assert found.moves == (("side", -1),) * 3


def random_case(seed: int) -> tuple[Model, list[Emission]]:
    """A sheet of two to five steps with cues and groups, prices, and up to seven utterances."""
    random = np.random.default_rng(seed)
    steps = int(random.integers(2, 6))
    owner = np.sort(random.integers(0, 3, steps))
    groups = [np.flatnonzero(owner == group).tolist() for group in (1, 2)]
    cues = np.flatnonzero(random.random(steps) < 0.2).tolist()
    prices = Prices() if seed % 2 else Prices(*random.uniform(0, 10, len(fields(Prices))))
    heard = [
        Emission(
            random.normal(-2, 4, steps),
            random.normal(-2, 4, steps),
            float(random.normal(0, 2)),
            {int(step): random.normal(-1, 3) for step in random.integers(0, steps, seed % 3)},
            corrects=seed % 5 == 0,
        )
        for _ in range(random.integers(1, 8))
    ]
    return Model(steps, prices, cues, groups), heard


def test_no_course_is_better_and_the_course_costs_what_is_said() -> None:
    """SciPy's Dijkstra on the graph of all states and moves finds the same least cost."""
    for seed in range(400):
        model, heard = random_case(seed)
        found = align(heard, model.steps, model.prices, model.cues, model.groups)
        assert -found.total == pytest.approx(least_cost(model, heard), abs=1e-6), seed
        assert -found.total == pytest.approx(cost_of(model, heard, found.moves), abs=1e-6), seed


def test_a_long_random_run_is_optimal_too() -> None:
    """Thirty steps, thirty utterances, drawn so that jumps of every length pay."""
    random = np.random.default_rng(7)
    model = Model(30, Prices(), [3, 17], [[5, 6, 7, 8], [20, 22]])
    heard = [
        Emission(random.normal(-6, 5, 30), random.normal(-6, 5, 30), random.normal(0, 2), {})
        for _ in range(30)
    ]
    found = align(heard, model.steps, model.prices, model.cues, model.groups)
    assert {move for move, _ in found.moves} == {"ask", "answer", "side"}
    assert -found.total == pytest.approx(least_cost(model, heard), abs=1e-6)


NEVER = 1e6


@given(st.text("abc", max_size=12), st.text("abc", max_size=12))
def test_with_prices_of_one_it_is_the_edit_distance(sheet: str, said: str) -> None:
    """rapidfuzz's Levenshtein distance: a step skipped, talk put in, a wrong step: 1 each.

    A last step, asked for certain, makes the steps skipped at the end cost too.
    """
    prices = Prices(
        skip_first=1,
        skip_more=1,
        side=1,
        unanswered=0,
        **dict.fromkeys(("far", "back", "again", "redo", "unasked", "more", "resume"), NEVER),
    )
    impossible = np.full(len(sheet) + 1, -NEVER)
    heard = [
        Emission(
            np.array([0.0 if step == letter else -1.0 for step in sheet] + [-NEVER]),
            impossible,
            0.0,
            {},
        )
        for letter in said
    ]
    last = Emission(np.array([-NEVER] * len(sheet) + [0.0]), impossible, -NEVER, {})
    found = align([*heard, last], len(sheet) + 1, prices)
    assert -found.total == Levenshtein.distance(sheet, said)


def seconds_for(utterances: int, steps: int) -> float:
    random = np.random.default_rng(1)
    heard = [
        Emission(random.normal(-6, 4, steps), random.normal(-6, 4, steps), 0.0, {})
        for _ in range(200)
    ]
    started = time.process_time()
    align((heard * (utterances // 200 + 1))[:utterances], steps, Prices())
    return time.process_time() - started


@pytest.mark.parametrize(("fewer", "more"), [((150, 500), (600, 500)), ((30, 4000), (30, 16000))])
def test_time_grows_linearly(fewer: tuple[int, int], more: tuple[int, int]) -> None:
    """Four times the utterances or steps: about 4 times, where a square would take 16 times.

    Less than 9 times, in the middle of five, allows for a busy machine. Time is the processor's.
    """
    ratios = [seconds_for(*more) / seconds_for(*fewer) for _ in range(5)]
    assert median(ratios) < 9


@pytest.mark.slow
def test_ten_thousand_utterances_against_five_hundred_items() -> None:
    """Under 3 s of one core is what the whole follower may take."""
    assert min(seconds_for(10_000, 500) for _ in range(3)) < 3
