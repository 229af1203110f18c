"""Which items came out of order."""

from bisect import bisect_right
from collections.abc import Sequence

__all__ = ["out_of_order"]


def out_of_order(ranks: Sequence[int]) -> set[int]:
    """Indexes outside a longest subsequence of ``ranks`` that never falls.

    It names as few items as will explain the order. Where two explain it equally well (4, 3), the
    one said later is named. Patience sorting (Schensted 1961): n log n.

    >>> sorted(out_of_order([1, 2, 4, 3, 5]))
    [3]
    """
    longest = _longest_from(ranks)
    kept: set[int] = set()
    need, least = max(longest, default=0), min(ranks, default=0)
    for index, rank in enumerate(ranks):
        if need and longest[index] == need and rank >= least:
            kept.add(index)
            need, least = need - 1, rank
    return set(range(len(ranks))) - kept


def _longest_from(ranks: Sequence[int]) -> list[int]:
    """For each index the length of the longest non-falling subsequence that starts there."""
    tails: list[int] = []
    lengths = [0] * len(ranks)
    for index in range(len(ranks) - 1, -1, -1):
        place = bisect_right(tails, -ranks[index])
        if place == len(tails):
            tails.append(-ranks[index])
        else:
            tails[place] = -ranks[index]
        lengths[index] = place + 1
    return lengths
