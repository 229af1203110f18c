"""How sure each row is, given what the run shows of itself: the last stage of following a run.

The judges say how well the words of a row fit. That is too sure where much is said that nobody
understands, and by far for rows that say that something was *not* said. Here each row's p becomes
what such rows were found to be worth, by a logistic regression for each of four claims (Platt 1999,
"Probabilistic outputs for support vector machines", with two signs more). Nothing else of a row
is changed, and nothing that comes after its time is looked at but what its own claim waits for.
"""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import accumulate
from typing import Final, Literal, NamedTuple

from voxlog.follow.event import Event
from voxlog.follow.probability import log_odds, squash

__all__ = ["WEIGHTS", "Claim", "Signs", "Weights", "certainty", "signs_of", "with_certainty"]

Claim = Literal["said", "odd", "unanswered", "unheard"]
"""What a row claims: words as expected, words that a person must look at, a challenge, level or
count that nothing came back to, or that nothing was said at all."""

WINDOW_S = 180.0
"""How far back it is looked how much of the speech was understood."""
USUAL_SHARE, USUAL_S = 0.1, 4.0
"""Share of speech without meaning beforehand, and how many seconds of speech that is worth."""
ANSWER_S = 10.0
"""Seconds after a challenge in which what is said is most likely its answer."""
MOST_S = 4.0
"""Seconds of speech without meaning beyond which more says no more."""
SUREST = 5.0
"""Nats of p beyond which it says no more: all the judges know is what was heard."""


class Signs(NamedTuple):
    """What speaks for and against a row.

    claim: whose weights count. given: log-odds of the judges' p in nats, -SUREST to SUREST.
    missed: seconds of speech without meaning where the row's missing words would be, a step, 0 to
    MOST_S. unclear: share of the seconds of speech before it that were without meaning, 0 to 1.
    """

    claim: Claim
    given: float
    missed: float
    unclear: float


class Weights(NamedTuple):
    """Nats for each sign, and to begin with."""

    constant: float
    given: float
    missed: float
    unclear: float


WEIGHTS: Final[Mapping[Claim, Weights]] = {
    "said": Weights(2.19, 0.52, -1.01, -1.72),
    "odd": Weights(0.20, 0.70, -0.64, 0.00),
    "unanswered": Weights(1.03, 0.63, -0.05, -5.17),
    "unheard": Weights(-2.04, 0.91, -1.15, -0.73),
}
"""Set by `python -m tests.bench fit-certainty`, to be copied from there by hand."""


def with_certainty(rows: Sequence[Event]) -> list[Event]:
    """The rows of a run with the p that they are worth; notes as they are.

    rows: as judged, in time order.
    """
    return [
        row if signs is None else replace(row, p=certainty(signs))
        for row, signs in zip(rows, signs_of(rows), strict=True)
    ]


def certainty(signs: Signs, weights: Mapping[Claim, Weights] = WEIGHTS) -> float:
    """The probability that a row with these signs is right."""
    of_claim = weights[signs.claim]
    return squash(
        of_claim.constant
        + of_claim.given * signs.given
        + of_claim.missed * signs.missed
        + of_claim.unclear * signs.unclear
    )


def signs_of(rows: Sequence[Event]) -> list[Signs | None]:
    """The signs of each row, None for notes. rows: as judged, in time order."""
    run = _Run(rows)
    return [None if row.kind == "note" else run.signs(row) for row in rows]


class _Run:
    """What a run's rows show, to be asked for any stretch of time."""

    def __init__(self, rows: Sequence[Event]) -> None:
        spoken = [row for row in rows if row.status != "skipped"]
        steps = [row for row in spoken if row.kind in ("item", "cue")]
        unclear = [row for row in spoken if _is_unclear(row)]
        self._unclear = _Lengths(unclear)
        self._spoken = _Lengths(spoken)
        self._step_starts = [row.start for row in steps]
        self._step_ends = sorted(row.end for row in steps)
        self._unheard = Counter(row.start for row in rows if row.status == "skipped")

    def signs(self, row: Event) -> Signs:
        claim = _claim(row)
        return Signs(
            claim=claim,
            given=max(-SUREST, min(SUREST, log_odds(row.p))),
            missed=min(MOST_S, self._missed_s(row, claim)),
            unclear=self._share_unclear(row.start),
        )

    def _missed_s(self, row: Event, claim: Claim) -> float:
        if claim == "unheard":
            before = bisect_right(self._step_ends, row.start)
            since = self._step_ends[before - 1] if before else 0.0
            return self._unclear.seconds(since, row.start) / self._unheard[row.start]
        return self._unclear.seconds(row.start, self._answered_until(row, claim))

    def _answered_until(self, row: Event, claim: Claim) -> float:
        """Until when the answer of a row could have been said."""
        if claim != "unanswered":
            return row.end
        after = bisect_left(self._step_starts, row.end)
        until = row.end + ANSWER_S
        return min([until, *self._step_starts[after : after + 1]])

    def _share_unclear(self, moment: float) -> float:
        unclear, spoken = (
            of.seconds(moment - WINDOW_S, moment) for of in (self._unclear, self._spoken)
        )
        return (unclear + USUAL_SHARE * USUAL_S) / (spoken + USUAL_S)


class _Lengths:
    """How long some rows are together that began within a stretch of time."""

    def __init__(self, rows: Sequence[Event]) -> None:
        self._starts = [row.start for row in rows]
        self._sums = [0.0, *accumulate(row.end - row.start for row in rows)]

    def seconds(self, start: float, end: float) -> float:
        """Of rows that began from start on and before end."""
        first, last = (bisect_left(self._starts, moment) for moment in (start, end))
        return self._sums[max(first, last)] - self._sums[first]


def _claim(row: Event) -> Claim:
    if row.status == "skipped":
        return "unheard"
    if row.status == "unconfirmed" and "misread" not in row.flags:
        return "unanswered"
    is_odd = row.status == "negative" or set(row.flags) - {"repeated"}
    return "odd" if is_odd else "said"


def _is_unclear(row: Event) -> bool:
    """Whether a stretch of speech had no meaning for the run; words such as "disregard" have."""
    return row.kind == "note" and not row.note
