"""How many different members each group has, without a table of all pairs."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any

    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.integer[Any]]

__all__ = ["distinct_counts"]


def distinct_counts(groups: "Whole", members: "Whole", group_count: int) -> "NDArray[np.intp]":
    """For each row its group (0 to group_count - 1) and its member (from 0).

    By sorting: numpy's own unique takes several times as long for a million rows.
    """
    import numpy as np

    base = int(members.max(initial=0)) + 1
    pairs = np.sort(groups.astype(np.int64) * base + members)
    is_new = np.ones(len(pairs), dtype=bool)
    is_new[1:] = pairs[1:] != pairs[:-1]
    return np.bincount(pairs[is_new] // base, minlength=group_count)
