"""How sure each row is, given what the run shows of itself: the last stage of following a run.

The judges say how well the words of a row fit. That is too sure where much is said that nobody
understands, and by far for rows that say that something was *not* said. Here each row's p becomes
what such rows were found to be worth, by a logistic regression for each of ten claims (Platt
1999, "Probabilistic outputs for support vector machines", with four signs more). Nothing else of a
row is changed, and nothing that comes after its time is looked at but what its own claim waits for.
"""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import accumulate
from typing import Final, Literal, NamedTuple

from voxlog.follow.event import Event
from voxlog.follow.probability import log_odds, squash

__all__ = ["WEIGHTS", "Claim", "Signs", "Weights", "certainty", "signs_of", "with_certainty"]

Claim = Literal[
    "said",
    "denied",
    "odd",
    "odd reading",
    "misread",
    "unclear",
    "unanswered",
    "unread",
    "unheard",
    "uncalled",
]
"""What a row claims: words as expected, a negative answer, words or a reading that a person must
look at for another reason, a level read back wrong, words that could not be made out where an
answer or a go word was due, a challenge or a level that nothing came back to, a step or a level of
which nothing was said at all."""

WINDOW_S = 180.0
"""How far back it is looked how much of the speech was understood, and how well."""
USUAL_SHARE, USUAL_S = 0.1, 4.0
"""Share of speech without meaning beforehand, and how many seconds of speech that is worth."""
ANSWER_S = 10.0
"""Seconds after a challenge in which what is said is most likely its answer."""
MOST_S = 4.0
"""Seconds of speech without meaning beyond which more says no more."""
SHORTEST_STEP_S = 3.0
"""Seconds under which a step that nobody heard can hardly have been asked and answered."""
SUREST = 6.0
"""Nats of p beyond which it says no more: all the judges know is what was heard."""
CLEAREST = 12.0
"""Nats of a row's words beyond which they count as no clearer."""
USUAL_CLEAR, USUAL_ROWS = 7.0, 4.0
"""How clear words are beforehand, in nats, and how many rows that is worth."""


class Signs(NamedTuple):
    """What speaks for and against a row.

    claim: whose weights count. given: log-odds of the judges' p in nats, -SUREST to SUREST; 0 where
    nothing was said in answer, since all the judges know then is that. missed: seconds of speech
    without meaning where the row's missing words would be, a step, 0 to MOST_S. unclear: share of
    the seconds of speech before it that were without meaning, 0 to 1. clear: mean log-odds of the
    rows before it that were heard, in nats, 0 to CLEAREST: in a room where words come through this
    well, a step that was done would have been heard. short: for a step that nobody heard, seconds
    by which the time since the last one is less than it takes, 0 to SHORTEST_STEP_S.
    """

    claim: Claim
    given: float
    missed: float
    unclear: float
    clear: float
    short: float


class Weights(NamedTuple):
    """Nats for each sign, and to begin with."""

    constant: float
    given: float
    missed: float
    unclear: float
    clear: float
    short: float


_WITH_WORDS: Final[frozenset[Claim]] = frozenset(
    {"said", "denied", "odd", "odd reading", "misread"}
)

WEIGHTS: Final[Mapping[Claim, Weights]] = {
    "said": Weights(1.97, 0.40, -0.20, -0.36, 0.06, 0.00),
    "denied": Weights(0.48, 0.73, -0.97, -0.08, 0.22, 0.00),
    "odd": Weights(0.94, 0.47, -0.56, -0.97, 0.00, 0.00),
    "odd reading": Weights(0.20, 1.30, 0.00, 0.00, 0.08, 0.00),
    "misread": Weights(-1.97, 0.44, -0.10, -0.62, 0.37, 0.00),
    "unclear": Weights(-0.62, 0.00, 0.00, -1.36, 0.00, 0.00),
    "unanswered": Weights(0.01, 0.00, -0.16, -1.73, 0.32, 0.00),
    "unread": Weights(-1.78, 0.36, -0.23, -1.79, 0.15, 0.00),
    "unheard": Weights(-3.22, 0.67, -0.73, -1.11, 0.16, 0.28),
    "uncalled": Weights(-2.08, 0.00, -0.03, -2.98, 0.41, 0.00),
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
        + of_claim.clear * signs.clear
        + of_claim.short * signs.short
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
        clear = sorted((row for row in spoken if _has_words(row)), key=lambda row: row.end)
        self._unclear = _Sums(
            (row.start, row.end - row.start) for row in spoken if _is_unclear(row)
        )
        self._spoken = _Sums((row.start, row.end - row.start) for row in spoken)
        self._clear = _Sums((row.end, _within(log_odds(row.p), 0.0, CLEAREST)) for row in clear)
        self._clear_rows = _Sums((row.end, 1.0) for row in clear)
        self._step_starts = [row.start for row in steps]
        self._step_ends = sorted(row.end for row in steps)
        self._unheard = Counter(row.start for row in rows if row.status == "skipped")

    def signs(self, row: Event) -> Signs:
        claim = _claim(row)
        given = 0.0 if claim == "unanswered" else log_odds(row.p)
        return Signs(
            claim=claim,
            given=_within(given, -SUREST, SUREST),
            missed=min(MOST_S, self._missed_s(row, claim)),
            unclear=self._share_unclear(row.start),
            clear=self._how_clear(row.start),
            short=max(0.0, SHORTEST_STEP_S - self._step_s(row)) if claim == "unheard" else 0.0,
        )

    def _missed_s(self, row: Event, claim: Claim) -> float:
        if claim in ("unheard", "uncalled"):
            unclear_s = self._unclear.between(self._last_step(row.start), row.start)
            return unclear_s / self._unheard[row.start]
        return self._unclear.between(row.start, self._answered_until(row, claim))

    def _step_s(self, row: Event) -> float:
        """Seconds that there were for each of the steps that nobody heard at a row's time."""
        return (row.start - self._last_step(row.start)) / self._unheard[row.start]

    def _last_step(self, moment: float) -> float:
        """When the last step before a moment was over."""
        before = bisect_right(self._step_ends, moment)
        return self._step_ends[before - 1] if before else 0.0

    def _answered_until(self, row: Event, claim: Claim) -> float:
        """Until when the answer of a row could have been said."""
        if claim not in ("unanswered", "unread"):
            return row.end
        after = bisect_left(self._step_starts, row.end)
        until = row.end + ANSWER_S
        return min([until, *self._step_starts[after : after + 1]])

    def _share_unclear(self, moment: float) -> float:
        unclear, spoken = (
            of.between(moment - WINDOW_S, moment) for of in (self._unclear, self._spoken)
        )
        return (unclear + USUAL_SHARE * USUAL_S) / (spoken + USUAL_S)

    def _how_clear(self, moment: float) -> float:
        nats, rows = (
            of.between(moment - WINDOW_S, moment) for of in (self._clear, self._clear_rows)
        )
        return (nats + USUAL_CLEAR * USUAL_ROWS) / (rows + USUAL_ROWS)


class _Sums:
    """What some amounts, each at its moment, are together within a stretch of time."""

    def __init__(self, amounts: Iterable[tuple[float, float]]) -> None:
        """amounts: moment in seconds and amount, in order of the moments."""
        known = list(amounts)
        self._moments = [moment for moment, _ in known]
        self._sums = [0.0, *accumulate(amount for _, amount in known)]

    def between(self, start: float, end: float) -> float:
        """Of those from start on and before end."""
        first, last = (bisect_left(self._moments, moment) for moment in (start, end))
        return self._sums[max(first, last)] - self._sums[first]


def _within(amount: float, least: float, most: float) -> float:
    return max(least, min(most, amount))


def _claim(row: Event) -> Claim:
    is_level = row.kind == "callout"
    if row.status == "skipped":
        return "uncalled" if is_level else "unheard"
    if row.status == "unconfirmed" and is_level:
        return "misread" if "misread" in row.flags else "unread"
    if row.status == "unconfirmed":
        is_unclear = row.kind == "cue" or "uncertain" in row.flags
        return "unclear" if is_unclear else "unanswered"
    if row.status == "negative":
        return "denied"
    if not set(row.flags) - {"repeated"}:
        return "said"
    return "odd reading" if row.kind == "reading" else "odd"


def _has_words(row: Event) -> bool:
    """Whether a row says that the words of a step, a level or a reading were heard."""
    return row.kind != "note" and _claim(row) in _WITH_WORDS


def _is_unclear(row: Event) -> bool:
    """Whether a stretch of speech had no meaning for the run; words such as "disregard" have."""
    return row.kind == "note" and not row.note
