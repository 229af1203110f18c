"""What now stands follows from the latest decision of each reviewer, and from nothing else."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.follow.event import Event
from voxlog.review.decision import Decision, Verdict
from voxlog.review.outcome import Agreement, Outcome, cleared_row, is_reviewed, outcomes

AT = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
FINE = Event(1.0, 2.0, "item", "ground", "1", "attendant", "confirmed", p=0.99)
DENIED = Event(
    3.0, 4.5, "item", "ground", "2", "operator", "negative", ("late", "repeated"), "no", p=0.5
)
OFF = Event(5.0, 6.0, "reading", item="saturation", value=64.0, unit="%", flags=("off-limit",))
EVENTS = [FINE, DENIED, OFF]
RIGHT = replace(DENIED, status="confirmed", flags=(), heard="now", p=1.0)
MISSED = Event(9.0, 9.5, "item", "ground", "3", "operator", "confirmed", heard="shut")


def decide(
    reviewer: str, verdict: Verdict, row: int | None = 2, event: Event | None = None
) -> Decision:
    return Decision(reviewer, AT, verdict, row, event, "because")


def row_after(*decisions: Decision, row: int = 2) -> Outcome:
    return outcomes(EVENTS, decisions)[row - 1]


@pytest.mark.parametrize(
    ("decisions", "state", "stands"),
    [
        ((), "open", DENIED),
        ((decide("C-1", "stands"),), "agreed", DENIED),
        ((decide("C-1", "cleared"),), "agreed", None),
        ((decide("C-1", "corrected", 2, RIGHT),), "agreed", RIGHT),
        ((decide("C-1", "deferred"),), "deferred", DENIED),
        # The latest of one reviewer counts.
        ((decide("C-1", "stands"), decide("C-1", "cleared")), "agreed", None),
        ((decide("C-1", "deferred"), decide("C-1", "stands")), "agreed", DENIED),
        ((decide("C-1", "stands"), decide("C-1", "deferred")), "deferred", DENIED),
        # Two reviewers.
        ((decide("C-1", "cleared"), decide("C-2", "cleared")), "agreed", None),
        ((decide("C-1", "cleared"), decide("C-2", "stands")), "disputed", DENIED),
        (
            (decide("C-1", "cleared"), decide("C-2", "stands"), decide("C-2", "cleared")),
            "agreed",
            None,
        ),
        ((decide("C-1", "cleared"), decide("C-2", "deferred")), "deferred", DENIED),
        (
            (decide("C-1", "cleared"), decide("C-2", "deferred"), decide("C-3", "stands")),
            "disputed",
            DENIED,
        ),
        ((decide("C-1", "cleared"), decide("C-2", "corrected", 2, RIGHT)), "disputed", DENIED),
        # Corrections agree in what they say, whatever words they quote.
        (
            (
                decide("C-1", "corrected", 2, RIGHT),
                decide("C-2", "corrected", 2, replace(RIGHT, heard="now then", p=0.9)),
            ),
            "agreed",
            replace(RIGHT, heard="now then", p=0.9),
        ),
        (
            (
                decide("C-1", "corrected", 2, RIGHT),
                decide("C-2", "corrected", 2, replace(RIGHT, value=2.0)),
            ),
            "disputed",
            DENIED,
        ),
    ],
)
def test_the_state_of_a_row(
    decisions: tuple[Decision, ...], state: Agreement, stands: Event | None
) -> None:
    outcome = row_after(*decisions)
    assert (outcome.state, outcome.event) == (state, stands)
    assert outcome.logged == DENIED
    assert not outcome.is_added
    assert outcome.needs_decision == (state != "agreed")


ADD = decide("C-1", "added", None, MISSED)


@pytest.mark.parametrize(
    ("decisions", "state", "stands"),
    [
        ((), "agreed", MISSED),
        ((decide("C-2", "stands", 4),), "agreed", MISSED),
        ((decide("C-2", "cleared", 4),), "disputed", MISSED),
        ((decide("C-1", "cleared", 4),), "agreed", None),
        ((decide("C-1", "corrected", 4, RIGHT),), "agreed", RIGHT),
        ((decide("C-2", "corrected", 4, RIGHT),), "disputed", MISSED),
    ],
)
def test_an_added_row_is_numbered_after_the_logs_and_can_be_decided_on(
    decisions: tuple[Decision, ...], state: Agreement, stands: Event | None
) -> None:
    rows = outcomes(EVENTS, [ADD, *decisions])
    assert [row.row for row in rows] == [1, 2, 3, 4]
    assert rows[3].is_added
    assert (rows[3].state, rows[3].event) == (state, stands)


def test_a_decision_on_a_row_that_is_not_there_yet_is_a_fault() -> None:
    with pytest.raises(ValueError, match="row 4"):
        outcomes(EVENTS, [decide("C-2", "stands", 4), ADD])


@pytest.mark.parametrize(
    ("decisions", "reviewed"),
    [
        ([], False),
        ([decide("C-1", "stands", 2)], False),
        ([decide("C-1", "stands", 2), decide("C-1", "cleared", 3)], True),
        ([decide("C-1", "stands", 2), decide("C-1", "deferred", 3)], False),
        ([decide("C-1", "stands", 2), decide("C-1", "cleared", 3), ADD], True),
        # A row without a finding, once somebody doubts it, is to be decided as well.
        (
            [
                *(decide("C-1", "stands", 2), decide("C-1", "cleared", 3)),
                *(decide("C-1", "stands", 1), decide("C-2", "corrected", 1, RIGHT)),
            ],
            False,
        ),
    ],
)
def test_reviewed_is_when_every_finding_is_agreed(
    decisions: list[Decision], reviewed: bool
) -> None:
    assert is_reviewed(outcomes(EVENTS, decisions)) == reviewed


@pytest.mark.parametrize(
    ("event", "status", "flags"),
    [
        (DENIED, "confirmed", ("repeated",)),
        (OFF, None, ()),
        (replace(OFF, status="unconfirmed"), "confirmed", ()),
    ],
)
def test_a_cleared_row_counts_as_it_should_be(
    event: Event, status: str | None, flags: tuple[str, ...]
) -> None:
    cleared = cleared_row(event)
    assert (cleared.status, cleared.flags, cleared.p) == (status, flags, 1.0)
    assert (cleared.start, cleared.item, cleared.value) == (event.start, event.item, event.value)


VERDICTS = st.sampled_from(["stands", "cleared", "deferred"])
DECISIONS = st.lists(
    st.builds(
        lambda code, verdict, row: decide(f"C-{code}", verdict, row),
        st.integers(1, 3),
        VERDICTS,
        st.integers(1, 3),
    ),
    max_size=12,
)


@given(DECISIONS)
def test_the_order_of_different_reviewers_does_not_matter(decisions: list[Decision]) -> None:
    by_reviewer = sorted(decisions, key=lambda decision: decision.reviewer)
    sorted_out = outcomes(EVENTS, by_reviewer)
    for one, other in zip(outcomes(EVENTS, decisions), sorted_out, strict=True):
        assert (one.state, one.event, set(one.latest)) == (
            *(other.state, other.event),
            set(other.latest),
        )


@given(DECISIONS)
def test_a_decision_repeated_changes_nothing(decisions: list[Decision]) -> None:
    later = [replace(decision, at=AT + timedelta(minutes=1)) for decision in decisions]
    twice = [each for pair in zip(decisions, later, strict=True) for each in pair]
    for one, other in zip(outcomes(EVENTS, decisions), outcomes(EVENTS, twice), strict=True):
        assert (one.state, one.event) == (other.state, other.event)
