"""The rules of the verdicts that need the rows around them."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samples_synthetic.truth import out_of_order


@pytest.mark.parametrize(
    ("ranks", "outside"),
    [
        ([], set()),
        ([1, 2, 3], set()),
        ([2, 1], {1}),  # a tie: the later-said is outside
        ([1, 3, 2, 4], {2}),
        ([1, 2, 5, 3, 4], {2}),  # one early item, not two late ones
        ([3, 4, 1, 2], {2, 3}),
        ([1, 2, 2, 3], set()),  # one any-order group
        ([5, 5, 1, 5], {2}),
    ],
)
def test_rows_outside_the_longest_ordered_sequence(ranks: list[int], outside: set[int]) -> None:
    assert out_of_order(ranks) == outside


@given(st.lists(st.integers(0, 5), max_size=9))
def test_what_is_left_is_in_order_and_nothing_longer_is(ranks: list[int]) -> None:
    """Against every subsequence, one by one."""
    outside = out_of_order(ranks)
    left = [rank for index, rank in enumerate(ranks) if index not in outside]
    assert left == sorted(left)
    longer = combinations(ranks, len(left) + 1)
    assert not any(list(some) == sorted(some) for some in longer)
