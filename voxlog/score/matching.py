"""Which row of the log stands for which row of the truth. Pure; see score.py for the rules.

On a time line the best matching never needs to cross: if two pairs cross, exchanging their ends
keeps both within the collar and adds no distance. So the assignment that a general method finds
(most pairs, then least total distance) is found by a dynamic program over both lists in order of
time, as for an edit distance.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from voxlog.follow.event import Event

__all__ = ["Pair", "match_group", "match_rows"]


class Pair(NamedTuple):
    """A truth row and its log row; one of them is None where the other has no partner."""

    truth: Event | None
    log: Event | None


def match_rows(log: Iterable[Event], truth: Iterable[Event], collar_s: float) -> list[Pair]:
    """Match within each kind and item (or id): items by order of occurrence, others by time.

    Notes are left out. The pairs come in order of time, the truth's where there is a truth row.
    """
    logged, true = _by_name(log), _by_name(truth)
    pairs: list[Pair] = []
    for name in true.keys() | logged.keys():
        is_item = name[0] == "item"
        pairs += match_group(logged[name], true[name], None if is_item else collar_s)
    return sorted(pairs, key=_place)


def match_group(log: Sequence[Event], truth: Sequence[Event], collar_s: float | None) -> list[Pair]:
    """The most pairs at most collar_s apart, then the least total distance, then equal values.

    Distances are between starts, in whole milliseconds, so that a distance of exactly the collar
    is within it. A collar of None takes any distance: as many pairs as the shorter list has rows,
    in order.
    """
    log, truth = sorted(log, key=_order), sorted(truth, key=_order)
    collar_ms = None if collar_s is None else round(collar_s * 1000)
    moves = [bytearray(len(log) + 1) for _ in range(len(truth) + 1)]
    above = [_NOTHING] * (len(log) + 1)
    for i, true in enumerate(truth, 1):
        row = [_NOTHING]
        for j, logged in enumerate(log, 1):
            gain, move = max((above[j], _SKIP_TRUTH), (row[j - 1], _SKIP_LOG))
            distance = abs(_ms(true) - _ms(logged))
            if collar_ms is None or distance <= collar_ms:
                paired = above[j - 1].plus(distance, agree=true.value == logged.value)
                gain, move = max((paired, _PAIR), (gain, move))
            row.append(gain)
            moves[i][j] = move
        above = row
    return _walk_back(log, truth, moves)


class _Gain(NamedTuple):
    """What a matching is worth; compared from left to right."""

    pairs: int
    minus_distance_ms: int
    equal_values: int

    def plus(self, distance_ms: int, *, agree: bool) -> "_Gain":
        return _Gain(
            self.pairs + 1, self.minus_distance_ms - distance_ms, self.equal_values + agree
        )


_NOTHING = _Gain(0, 0, 0)
_SKIP_TRUTH, _SKIP_LOG, _PAIR = 0, 1, 2


def _walk_back(
    log: Sequence[Event], truth: Sequence[Event], moves: Sequence[bytearray]
) -> list[Pair]:
    pairs = []
    i, j = len(truth), len(log)
    while i and j:
        move = moves[i][j]
        if move == _PAIR:
            pairs.append(Pair(truth[i - 1], log[j - 1]))
        elif move == _SKIP_TRUTH:
            pairs.append(Pair(truth[i - 1], None))
        else:
            pairs.append(Pair(None, log[j - 1]))
        i -= move != _SKIP_LOG
        j -= move != _SKIP_TRUTH
    pairs += [Pair(row, None) for row in truth[:i]]
    pairs += [Pair(None, row) for row in log[:j]]
    return pairs


def _by_name(events: Iterable[Event]) -> Mapping[tuple[str, str], list[Event]]:
    groups: defaultdict[tuple[str, str], list[Event]] = defaultdict(list)
    for event in events:
        if event.kind != "note":
            groups[event.kind, event.item].append(event)
    return groups


def _ms(event: Event) -> int:
    return round(event.start * 1000)


def _order(event: Event) -> tuple[int, float]:
    """By time; rows of one moment (levels left out before the same step) by value."""
    return _ms(event), float("-inf") if event.value is None else event.value


def _place(pair: Pair) -> tuple[int, str, str, bool]:
    event = pair.truth or pair.log
    assert event is not None
    return _ms(event), event.kind, event.item, pair.truth is None
