"""What makes a row more and less sure, and what stays as it is."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.follow.certainty import (
    CLEAREST,
    MOST_S,
    SHORTEST_STEP_S,
    SUREST,
    USUAL_CLEAR,
    USUAL_SHARE,
    WEIGHTS,
    WINDOW_S,
    Claim,
    Signs,
    certainty,
    signs_of,
    with_certainty,
)
from voxlog.follow.event import FLAGS, KINDS, STATUSES, Event, Flag, Status
from voxlog.log.finding import findings_of


def item(
    start: float, status: Status = "confirmed", flags: tuple[Flag, ...] = (), p: float = 0.9
) -> Event:
    end = start if status == "skipped" else start + 3.0
    return Event(start, end, "item", item=f"{start:.0f}", status=status, flags=flags, p=p)


def talk(start: float, seconds: float = 2.0, note: str = "") -> Event:
    return Event(start, start + seconds, "note", heard="some words", note=note, p=0.8)


def last(*rows: Event) -> Signs:
    signs = signs_of(rows)[-1]
    assert signs is not None
    return signs


@pytest.mark.parametrize(
    ("row", "claim"),
    [
        (item(0), "said"),
        (item(0, flags=("repeated",)), "said"),
        (Event(0.0, 1.0, "reading", value=90.0), "said"),
        (item(0, "negative"), "denied"),
        (item(0, "negative", ("late",)), "denied"),
        (item(0, flags=("off-limit",)), "odd"),
        (item(0, flags=("uncertain",)), "odd"),
        (Event(0.0, 1.0, "reading", value=90.0, flags=("off-limit",)), "odd reading"),
        (Event(0.0, 1.0, "callout", status="unconfirmed", flags=("misread",)), "misread"),
        (item(0, "unconfirmed"), "unanswered"),
        # Something came back, and nobody knows what; a go word was due after its announcement.
        (item(0, "unconfirmed", ("uncertain",)), "unclear"),
        (Event(0.0, 1.0, "cue", status="unconfirmed"), "unclear"),
        (Event(0.0, 1.0, "callout", status="unconfirmed", flags=("uncertain",)), "unread"),
        (item(0, "skipped"), "unheard"),
        (Event(0.0, 0.0, "callout", status="skipped"), "uncalled"),
    ],
)
def test_what_a_row_claims(row: Event, claim: Claim) -> None:
    assert last(row).claim == claim


@pytest.mark.parametrize(
    ("before", "skipped", "missed"),
    [
        ([item(0)], 1, 0.0),
        ([item(0), talk(5)], 1, 2.0),
        # Talk between two items can have been one of those that nobody heard, not all of them.
        ([item(0), talk(5)], 2, 1.0),
        ([item(0), talk(4), talk(7, 1.0)], 1, 3.0),
        ([item(0), talk(3.5, 9.0)], 1, MOST_S),
        # What was said before the step that was done last is none of it.
        ([talk(0), item(4)], 1, 0.0),
        # Words with a meaning of their own are no answer that was missed.
        ([item(0), talk(5, note="stand-by")], 1, 0.0),
    ],
)
def test_speech_that_may_have_been_a_step_that_nobody_heard(
    before: list[Event], skipped: int, missed: float
) -> None:
    assert last(*before, *[item(20, "skipped")] * skipped).missed == pytest.approx(missed)


@pytest.mark.parametrize(
    ("before", "rows", "short"),
    [
        # A step needs three seconds; two of them need twice as long.
        ([item(0)], [item(3, "skipped")], SHORTEST_STEP_S),
        ([item(0)], [item(5, "skipped")], 1.0),
        ([item(0)], [item(6, "skipped")], 0.0),
        ([item(0)], [item(20, "skipped")], 0.0),
        ([item(0)], [item(8, "skipped")] * 2, 0.5),
        # From the last step on, whatever was said since; from the beginning, if there was none.
        ([item(0), item(4), talk(7)], [item(9, "skipped")], 1.0),
        ([], [item(1, "skipped")], 2.0),
        # A step that was heard had its time, and levels are called meanwhile.
        ([item(0)], [item(4)], 0.0),
        ([item(0)], [Event(3.5, 3.5, "callout", status="skipped")], 0.0),
    ],
)
def test_time_too_short_for_a_step_that_nobody_heard(
    before: list[Event], rows: list[Event], short: float
) -> None:
    assert last(*before, *rows).short == pytest.approx(short)


def test_what_came_back_to_a_challenge_is_all_that_the_judges_know_of_it() -> None:
    assert last(item(0, "unconfirmed", p=0.9)).given == 0.0
    assert last(item(0, "negative", p=0.9)).given > 0.0


@pytest.mark.parametrize(
    ("status", "after", "missed"),
    [
        ("unconfirmed", [talk(4)], 2.0),
        ("unconfirmed", [talk(4), item(9)], 2.0),
        ("unconfirmed", [item(4), talk(9)], 0.0),
        ("unconfirmed", [talk(20)], 0.0),
        ("confirmed", [talk(4)], 0.0),
        ("confirmed", [talk(1)], 2.0),
    ],
)
def test_speech_that_may_have_been_the_answer(
    status: Status, after: list[Event], missed: float
) -> None:
    signs = signs_of([item(0, status), *after])[0]
    assert signs is not None
    assert signs.missed == pytest.approx(missed)


def test_the_share_of_speech_without_meaning_is_that_of_the_minutes_before() -> None:
    assert last(item(0)).unclear == pytest.approx(USUAL_SHARE)
    clear = [item(5.0 * n) for n in range(12)]
    unclear = [talk(5.0 * n, 3.0) for n in range(12)]
    assert last(*clear, item(60)).unclear < USUAL_SHARE
    assert last(*unclear, item(60)).unclear > 0.8
    assert last(*unclear, item(60 + WINDOW_S)).unclear == pytest.approx(USUAL_SHARE)


def test_how_clear_words_are_is_that_of_the_rows_heard_in_the_minutes_before() -> None:
    clear = [item(5.0 * n, p=1.0) for n in range(12)]
    faint = [item(5.0 * n, p=0.6) for n in range(12)]
    assert last(item(0)).clear == pytest.approx(USUAL_CLEAR)
    assert last(*faint, item(60)).clear < USUAL_CLEAR < last(*clear, item(60)).clear < CLEAREST
    assert last(*clear, item(60 + WINDOW_S)).clear == pytest.approx(USUAL_CLEAR)
    # Rows that say what was not said have no words, and those of a row count from its end on.
    nothing = [item(1, "unconfirmed", p=0.6), item(5, "skipped", p=0.6), talk(6)]
    assert last(*nothing, item(20)).clear == pytest.approx(USUAL_CLEAR)
    assert last(item(0), item(2.9)).clear == pytest.approx(USUAL_CLEAR)
    assert last(item(0), item(3.1)).clear < USUAL_CLEAR


def test_what_comes_later_changes_no_row_that_has_its_answer() -> None:
    """So that a row that was told while a run goes is not told again each time."""
    rows = [item(0), talk(4), item(8, "negative"), item(20, "skipped"), item(20)]
    later = [talk(25), talk(30), item(40)]
    assert with_certainty([*rows, *later])[: len(rows)] == with_certainty(rows)


claims = st.sampled_from(sorted(WEIGHTS))


signs = st.builds(
    Signs,
    claims,
    given=st.floats(-SUREST, SUREST),
    missed=st.floats(0, MOST_S),
    unclear=st.floats(0, 1),
    clear=st.floats(0, CLEAREST),
)


@given(signs, st.floats(0, 0.5))
def test_more_evidence_is_never_less_sure_and_more_unclear_speech_never_surer(
    of_row: Signs, more: float
) -> None:
    p = certainty(of_row)
    assert 0 < p < 1
    assert certainty(of_row._replace(given=of_row.given + more)) >= p
    assert certainty(of_row._replace(clear=of_row.clear + more)) >= p
    assert certainty(of_row._replace(missed=of_row.missed + more)) <= p
    assert certainty(of_row._replace(unclear=of_row.unclear + more)) <= p


@pytest.mark.parametrize("status", STATUSES)
def test_a_surer_verdict_gives_a_surer_row(status: Status) -> None:
    ps = [with_certainty([item(0, status, p=n / 20)])[0].p for n in range(21)]
    assert all(low <= high for low, high in pairwise(ps))


events = st.builds(
    Event,
    start=st.floats(0, 300),
    end=st.floats(300, 310),
    kind=st.sampled_from(KINDS),
    item=st.sampled_from(["1", "2"]),
    status=st.sampled_from([None, *STATUSES]),
    flags=st.sets(st.sampled_from(FLAGS)).map(lambda s: tuple(f for f in FLAGS if f in s)),
    p=st.floats(0, 1),
    note=st.sampled_from(["", "stand-by"]),
)


@given(st.lists(events, max_size=12).map(lambda found: sorted(found, key=lambda one: one.start)))
def test_nothing_but_p_is_changed_and_no_note(rows: list[Event]) -> None:
    found = with_certainty(rows)
    assert [replace(row, p=0.0) for row in found] == [replace(row, p=0.0) for row in rows]
    assert [findings_of(row) for row in found] == [findings_of(row) for row in rows]
    assert all(0 < row.p < 1 for row in found if row.kind != "note")
    assert [row for row in found if row.kind == "note"] == [r for r in rows if r.kind == "note"]
