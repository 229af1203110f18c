"""The matching against two general-purpose libraries: mir_eval (how many pairs) and scipy (which).

mir_eval finds a largest matching within a window (Hopcroft-Karp); scipy's linear_sum_assignment
finds the cheapest one.
"""

import random

import mir_eval
import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from voxlog.follow.event import Event
from voxlog.score.matching import Pair, match_group, match_rows


def callouts(*starts: float) -> list[Event]:
    return [Event(start, start + 1, "callout", item="climb") for start in starts]


def distances(pairs: list[Pair]) -> list[float]:
    return [abs(pair.truth.start - pair.log.start) for pair in pairs if pair.truth and pair.log]


@pytest.mark.parametrize(("window", "f_measure"), [(0.05, 1 / 3), (0.5, 2 / 3)])
def test_the_onset_example(window: float, f_measure: float) -> None:
    """Reference 1, 5, 9 against 1.04, 5.3, 12, as computed with mir_eval 0.8.2."""
    truth, log = (1.0, 5.0, 9.0), (1.04, 5.3, 12.0)
    hits = len(distances(match_group(callouts(*log), callouts(*truth), window)))
    assert 2 * hits / 6 == pytest.approx(f_measure)
    f, _, _ = mir_eval.onset.f_measure(np.array(truth), np.array(log), window=window)
    assert f == pytest.approx(f_measure)


def random_starts(random_: random.Random, span_ms: int) -> list[float]:
    return sorted(random_.randrange(span_ms) / 1000 for _ in range(random_.randrange(25)))


@pytest.mark.parametrize("seed", range(60))
def test_random_lists_against_mir_eval_and_scipy(seed: int) -> None:
    random_ = random.Random(seed)
    span_ms = random_.choice([3_000, 10_000, 60_000])
    truth, log = random_starts(random_, span_ms), random_starts(random_, span_ms)
    pairs = match_group(callouts(*log), callouts(*truth), 1.0)

    # Half a millisecond more, or the two libraries' fractions would decide a distance of 1 s.
    assert len(distances(pairs)) == len(mir_eval.util.match_events(truth, log, 1.0005))

    distance = np.abs(np.subtract.outer(np.array(truth), np.array(log)))
    too_far = 1e6
    cost = np.where(distance <= 1.0005, distance, too_far)
    rows, columns = linear_sum_assignment(cost)
    chosen = [cost[place] for place in zip(rows, columns, strict=True) if cost[place] < too_far]
    assert len(distances(pairs)) == len(chosen)
    assert sum(distances(pairs)) == pytest.approx(sum(chosen))


@pytest.mark.parametrize("seed", range(20))
def test_without_collar_the_shorter_list_is_matched_whole_and_nearest(seed: int) -> None:
    random_ = random.Random(seed)
    truth, log = random_starts(random_, 60_000), random_starts(random_, 60_000)
    found = distances(match_group(callouts(*log), callouts(*truth), None))
    cost = np.abs(np.subtract.outer(np.array(truth), np.array(log)))
    assert len(found) == min(len(truth), len(log))
    assert sum(found) == pytest.approx(cost[linear_sum_assignment(cost)].sum())


@pytest.mark.parametrize(
    ("truth", "log", "hits"),
    [
        ((), (), 0),
        ((1.0,), (), 0),
        ((), (1.0,), 0),
        # The collar itself is within the collar, also where fractions come out above it.
        ((1.003,), (2.003,), 1),
        ((1.003,), (2.004,), 0),
        ((2.003,), (1.003,), 1),
        # Taking the nearest first would leave one row without partner.
        ((1.0, 2.0), (1.9, 2.9), 2),
        ((1.0, 1.5, 2.0), (0.2, 1.0, 1.4), 3),
    ],
)
def test_how_many_pairs(truth: tuple[float, ...], log: tuple[float, ...], hits: int) -> None:
    pairs = match_group(callouts(*log), callouts(*truth), 1.0)
    assert len(distances(pairs)) == hits
    assert sum(pair.truth is not None for pair in pairs) == len(truth)
    assert sum(pair.log is not None for pair in pairs) == len(log)


def level(start: float, feet: float) -> Event:
    return Event(start, start + 1, "callout", item="climb", value=feet)


def test_rows_of_one_moment_match_by_value() -> None:
    """A level left out has the time of the step after it, here the next level."""
    truth = [level(60, 5_000), level(60, 10_000)]
    for true in truth:
        log = [level(60.1, true.value or 0)]
        for order in (truth, truth[::-1]):
            assert Pair(true, log[0]) in match_group(log, order, 1.0)


def item(number: str, start: float) -> Event:
    return Event(start, start + 1, "item", item=number)


def test_items_match_by_number_and_order_of_occurrence() -> None:
    truth = [item("1", 10), item("2", 20), item("1", 300)]
    log = [item("2", 25), item("1", 40), item("1", 280)]
    assert match_rows(log, truth, 1.0) == [
        Pair(truth[0], log[1]),
        Pair(truth[1], log[0]),
        Pair(truth[2], log[2]),
    ]


def test_an_item_that_the_log_has_once_less_matches_the_nearer_row() -> None:
    truth = [item("1", 10), item("1", 300)]
    log = [item("1", 301)]
    assert match_rows(log, truth, 1.0) == [Pair(truth[0], None), Pair(truth[1], log[0])]


def test_kinds_and_names_do_not_mix_and_notes_are_left_out() -> None:
    truth = [Event(5, 6, "cue", item="off"), Event(7, 8, "note"), Event(9, 9, "hold")]
    log = [Event(5, 6, "cue", item="on"), Event(5, 6, "callout", item="off"), Event(7, 8, "note")]
    assert match_rows(log, truth, 1.0) == [
        Pair(None, log[1]),
        Pair(truth[0], None),
        Pair(None, log[0]),
        Pair(truth[2], None),
    ]


def test_a_long_run() -> None:
    log = callouts(*(24.0 * n + 0.3 for n in range(600)))
    pairs = match_group(log, callouts(*(24.0 * n for n in range(600))), 1.0)
    assert distances(pairs) == pytest.approx([0.3] * 600)
