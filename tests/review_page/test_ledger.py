from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.errors import InputError
from voxlog.review.review_log import REVIEW, read_review
from voxlog.review_page.ledger import Ledger
from voxlog.review_page.run import read_run

AT = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)


def ledger(run: Path, reviewer: str = "C-12") -> Ledger:
    return Ledger(read_run(run), reviewer, lambda: AT)


def stands(row: int) -> dict[str, object]:
    return {"verdict": "stands", "row": row}


def test_a_decision_is_on_the_disk_when_it_is_told(run: Path) -> None:
    state = ledger(run).decide(stands(4))
    assert [(one.reviewer, one.row, one.at) for one in state.decisions] == [("C-12", 4, AT)]
    assert list(read_review(run).decisions) == list(state.decisions)
    assert state.outcomes[3].state == "agreed"


def test_two_reviewers_see_each_other_and_both_stay(run: Path) -> None:
    one, other = ledger(run), ledger(run, "C-13")
    one.decide(stands(4))
    state = other.decide({"verdict": "cleared", "row": 4, "reason": "a cough"})
    assert state.outcomes[3].state == "disputed"
    assert [each.reviewer for each in one.state().decisions] == ["C-12", "C-13"]
    # an added row is everybody's
    added = one.decide(
        {
            "verdict": "added",
            "reason": "missed",
            "event": {"kind": "hold", "item": "", "start": 2.0},
        }
    )
    assert added.outcomes[-1].row == 7
    assert other.decide(stands(7)).outcomes[-1].state == "agreed"


def test_nothing_is_written_for_what_cannot_be_recorded(run: Path) -> None:
    with pytest.raises(InputError):
        ledger(run).decide(stands(99))
    assert not (run / REVIEW).exists()


def test_a_review_that_was_changed_is_told(run: Path) -> None:
    hand = ledger(run)
    hand.decide(stands(4))
    path = run / REVIEW
    path.write_bytes(path.read_bytes().replace(b"stands", b"stanDs"))
    with pytest.raises(InputError, match=r"review\.jsonl"):
        hand.state()
