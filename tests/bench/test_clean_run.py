"""Whole recordings end to end: the log must not get worse than this.

Floors, not targets: what is aimed at, and how far it is, is what `python -m tests.bench accuracy`
prints.
"""

from collections.abc import Sequence
from typing import NamedTuple

import pytest

from tests.bench.runs import CACHE, ROOT, RUNS, bench_runs, log_run
from voxlog.follow.event import Event
from voxlog.log.table import read_table
from voxlog.score.score import Scores, score


class Floor(NamedTuple):
    """The least that is accepted, 0 to 1."""

    item_status: float
    recall: float


CLEAN_RUN = Floor(item_status=0.98, recall=0.95)
DEMO = Floor(item_status=0.95, recall=0.95)

pytestmark = pytest.mark.slow


def missed_and_false(scores: Scores) -> Sequence[str]:
    """For the message of a failure: which, and not only how many."""
    return [
        f"{d.what} {d.finding} {d.kind} {d.item}, {d.start_s:.1f} s" for d in scores.differences
    ]


def check(log: Sequence[Event], truth: Sequence[Event], floor: Floor) -> None:
    scores = score(log, truth)
    assert (scores.item_status.share or 0) >= floor.item_status, missed_and_false(scores)
    assert (scores.findings.recall or 0) >= floor.recall, missed_and_false(scores)


def test_a_clean_run() -> None:
    [run] = bench_runs(RUNS, ["clean"], ["run-a"])
    check(log_run(run.audio, run.sheet, CACHE).events, run.truth, CLEAN_RUN)


def test_the_demonstration_at_10_db() -> None:
    log = log_run(ROOT / "samples_synthetic/demo.flac", ROOT / "grammars/demo.yaml", CACHE)
    check(log.events, read_table(ROOT / "samples_synthetic/demo.truth.csv"), DEMO)
