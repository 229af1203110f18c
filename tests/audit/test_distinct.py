"""Different members of groups."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from voxlog.audit.distinct import distinct_counts


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 6))))
def test_it_counts_as_sets_do(pairs: list[tuple[int, int]]) -> None:
    groups, members = (np.array([pair[n] for pair in pairs], dtype=np.int64) for n in (0, 1))
    expected = [len({member for group, member in pairs if group == n}) for n in range(5)]
    assert list(distinct_counts(groups, members, 5)) == expected
