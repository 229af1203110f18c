"""Rows keep their numbers while later evidence changes them."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.follow.event import Event
from voxlog.live.provisional import (
    Added,
    Change,
    Corrected,
    Difference,
    NumberedRow,
    Withdrawn,
    apply_changes,
    changes,
    difference,
)

events = st.builds(
    Event,
    start=st.integers(0, 40).map(lambda n: n / 4),
    end=st.just(20.0),
    kind=st.sampled_from(["item", "callout", "note", "cue"]),
    item=st.sampled_from(["1", "2"]),
    status=st.sampled_from(["confirmed", "unconfirmed", "skipped", None]),
    value=st.sampled_from([None, 5000.0, 10000.0]),
    p=st.sampled_from([0.5, 1.0]),
)
prefixes = st.lists(st.lists(events, max_size=8), max_size=6)


@given(prefixes)
def test_all_changes_in_order_give_the_last_prefix_and_numbers_are_never_used_again(
    runs: list[list[Event]],
) -> None:
    rows: list[NumberedRow] = []
    used: set[int] = set()
    for after in runs:
        made = changes(rows, after, len(used) + 1)
        for change in made:
            assert isinstance(change, Added) == (change.number not in used)
            used.add(change.number)
        rows = apply_changes(rows, made)
        assert Counter(row.event for row in rows) == Counter(after)
        assert len({row.number for row in rows}) == len(rows)
    assert used == set(range(1, len(used) + 1))


@given(st.lists(events, max_size=8))
def test_a_prefix_that_changes_nothing_gives_nothing(after: list[Event]) -> None:
    rows = apply_changes([], changes([], after, 1))
    assert changes(rows, list(reversed(after)), 100) == []


def item(start: float, number: str = "1", status: str = "confirmed", p: float = 1.0) -> Event:
    return Event(start, start + 1, "item", item=number, status=status, p=p)  # type: ignore[arg-type]


def call(start: float, level: float, status: str = "confirmed") -> Event:
    return Event(start, start + 1, "callout", item="climb", status=status, value=level)  # type: ignore[arg-type]


def note(start: float, heard: str = "talk") -> Event:
    return Event(start, start + 1, "note", heard=heard)


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        # a row that moves a little is the same row
        ([item(10)], [item(10.4)], {"corrected": [1]}),
        ([item(10)], [replace(item(10), heard="x")], {"corrected": [1]}),
        # an item that was passed over and is done after all
        ([item(10, status="skipped")], [item(40)], {"corrected": [1]}),
        # done again later: the first row stays as it is
        ([item(10)], [item(10), item(90)], {"added": [3]}),
        ([item(10), item(90)], [item(90)], {"withdrawn": [1]}),
        # what was talk is an item
        ([note(10)], [item(10)], {"withdrawn": [1], "added": [3]}),
        # talk elsewhere is other talk
        ([note(10)], [note(11)], {"withdrawn": [1], "added": [3]}),
        # levels passed over all lie at the same moment, and one of them is heard after all
        (
            [call(50, 5000, "skipped"), call(50, 10000, "skipped")],
            [call(30, 5000), call(50, 10000, "skipped")],
            {"corrected": [1]},
        ),
        # their moment moves
        (
            [call(50, 5000, "skipped"), call(50, 10000, "skipped")],
            [call(40, 5000, "skipped"), call(40, 10000, "skipped")],
            {"corrected": [1, 2]},
        ),
        # a level that was misheard
        ([call(50, 5000)], [call(50, 9000), call(70, 5000)], {"corrected": [1], "added": [3]}),
        ([item(10), item(20, "2")], [item(20, "2")], {"withdrawn": [1]}),
        ([], [], {}),
    ],
)
def test_a_row_is_the_same_row(
    before: list[Event], after: list[Event], expected: dict[str, list[int]]
) -> None:
    rows = [NumberedRow(number, event) for number, event in enumerate(before, 1)]
    found: dict[str, list[int]] = {}
    for change in changes(rows, after, 3):
        found.setdefault(type(change).__name__.lower(), []).append(change.number)
    assert found == expected


def test_a_change_says_what_was_reported_before() -> None:
    rows = [NumberedRow(4, item(10, status="unconfirmed")), NumberedRow(5, note(30))]
    made: list[Change] = changes(rows, [item(10)], 6)
    assert made == [
        Corrected(4, item(10), item(10, status="unconfirmed")),
        Withdrawn(5, note(30)),
    ]


def test_the_difference_counts_verdicts_and_not_how_sure_they_are() -> None:
    first = {
        1: item(1, "1"),
        2: item(2, "2", "unconfirmed"),
        3: item(3, "3"),
        4: note(4),
        5: item(5, "5", p=0.6),
    }
    final = [
        NumberedRow(1, item(1, "1")),
        NumberedRow(2, item(2, "2")),
        NumberedRow(3, item(3, "3", "negative")),
        NumberedRow(5, item(5, "5", p=0.9)),
        NumberedRow(6, item(6, "6")),
    ]
    assert difference(first, final, 1) == Difference(
        stood=2, corrected=2, withdrawn=1, only_at_end=1
    )
