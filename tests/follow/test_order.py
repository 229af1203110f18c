"""Out of order, against every subsequence there is."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.follow.order import out_of_order


@pytest.mark.parametrize(
    ("ranks", "expected"),
    [
        ([], set()),
        ([3], set()),
        ([1, 2, 3], set()),
        # Equal ranks are the items of a group.
        ([1, 2, 2, 2, 3], set()),
        # Of two that changed places the one said later.
        ([2, 1], {1}),
        ([1, 2, 4, 3, 5], {3}),
        # One item early, one item late: only that one.
        ([1, 5, 2, 3, 4, 6], {1}),
        ([2, 3, 4, 1, 5], {3}),
        # Wholly reversed: the first stays.
        ([4, 3, 2, 1], {1, 2, 3}),
        # Done again later.
        ([1, 2, 3, 1, 4], {3}),
    ],
)
def test_out_of_order(ranks: list[int], expected: set[int]) -> None:
    assert out_of_order(ranks) == expected


def rising(ranks: list[int]) -> list[set[int]]:
    """All index sets whose ranks never fall, the largest only."""
    for size in range(len(ranks), -1, -1):
        found = [
            set(kept)
            for kept in combinations(range(len(ranks)), size)
            if sorted(ranks[i] for i in kept) == [ranks[i] for i in kept]
        ]
        if found:
            return found
    raise AssertionError


@given(st.lists(st.integers(0, 5), max_size=9))
def test_it_names_as_few_as_possible_and_the_later_of_equals(ranks: list[int]) -> None:
    kept = set(range(len(ranks))) - out_of_order(ranks)
    best = rising(ranks)
    assert kept in best
    # The tie: of all longest ones, that which keeps the earliest said.
    assert sorted(kept) == min(map(sorted, best))
