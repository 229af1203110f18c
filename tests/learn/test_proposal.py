"""Enough runs and reviewers, each run once, and nothing that contradicts itself."""

from dataclasses import replace

import pytest

from voxlog.learn.lesson import Lesson
from voxlog.learn.proposal import MIN_REVIEWERS, MIN_RUNS, weigh

SNUG = Lesson("response", "1", "run-1", "a", 4, ("C-12",), act="confirm", phrase="snug")


def over(lesson: Lesson, *runs: str) -> list[Lesson]:
    """The lesson from runs written as seal and last figure of the reviewer: "a2"."""
    return [replace(lesson, seal=run[0], reviewers=(f"C-1{run[1]}",)) for run in runs]


def test_the_numbers_that_the_docs_give() -> None:
    assert (MIN_RUNS, MIN_REVIEWERS) == (3, 2)


@pytest.mark.parametrize(
    ("runs", "is_enough"),
    [
        (["a2", "b3", "c2"], True),
        (["a2", "b3", "c4", "d5"], True),
        (["a2", "b3"], False),
        (["a2", "b2", "c2", "d2"], False),
        (["a2", "a3", "b3"], False),
        (["a2", "a2", "a3"], False),
    ],
)
def test_three_runs_and_two_reviewers(runs: list[str], is_enough: bool) -> None:
    weighed = weigh(over(SNUG, *runs))
    assert (len(weighed.enough), len(weighed.short)) == ((1, 0) if is_enough else (0, 1))
    assert weighed.disputed == ()


def test_the_copy_of_a_run_counts_once() -> None:
    copies = [*over(SNUG, "a2", "b3"), replace(SNUG, run="copy-of-run-1")]
    (short,) = weigh(copies).short
    assert (short.runs, short.reviewers, len(short.lessons)) == (2, 2, 2)


def test_lessons_that_differ_are_not_added_up() -> None:
    lessons = [
        *over(SNUG, "a2"),
        *over(replace(SNUG, phrase="tight"), "b3"),
        *over(replace(SNUG, step="2"), "c2"),
    ]
    assert [proposal.runs for proposal in weigh(lessons).short] == [1, 1, 1]


BAR = replace(SNUG, kind="unit", act="item", phrase="", unit="bar")


@pytest.mark.parametrize(
    ("one", "other", "against"),
    [
        (SNUG, replace(SNUG, act="deny"), "to confirm and to deny"),
        (BAR, replace(BAR, kind="own-unit", unit="psi"), "spoken in psi as well"),
        (BAR, replace(BAR, unit="kPa"), "spoken in kPa as well"),
    ],
)
def test_what_contradicts_itself_is_not_proposed(one: Lesson, other: Lesson, against: str) -> None:
    weighed = weigh([*over(one, "a2", "b3", "c2"), *over(replace(other, row=9), "d3")])
    assert weighed.enough == ()
    assert against in weighed.disputed[0][1]


def test_another_step_contradicts_nothing() -> None:
    other = replace(BAR, kind="own-unit", unit="psi", step="2", row=9)
    assert len(weigh([*over(BAR, "a2", "b3", "c2"), *over(other, "d3")]).enough) == 1
