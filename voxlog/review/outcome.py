"""What the decisions on a log come to, row by row. Pure.

A reviewer's latest decision on a row counts; the earlier ones stay in review.jsonl. A row is

    open        nobody has decided on it yet
    agreed      the latest decisions of all who decided on it say the same
    deferred    somebody has put it off, and the others, if any, agree
    disputed    two reviewers say different things: both stay, and the log's row stands meanwhile

Corrections say the same when the corrected rows do, whatever their `heard`, `note` and `p`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from voxlog.follow.event import Event
from voxlog.log.finding import FINDINGS, Finding, findings_of
from voxlog.review.decision import Decision

__all__ = ["Agreement", "Outcome", "cleared_row", "is_reviewed", "outcomes"]

Agreement = Literal["agreed", "disputed", "open", "deferred"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One row of the log, or one that was added, after the review.

    row: its number: n of events.csv, or for an added one the next numbers after those.
    logged: the row as the log has it; as it was added, for an added one.
    is_added: the log does not have this row, a reviewer does.
    latest: the latest decision of each reviewer who decided on it, in order of their first ones.
    state: see this module.
    event: the row as it now stands; None when it was cleared of its finding (an added one: taken
        back). `cleared_row` says how a cleared row counts. While the state is open, disputed or
        deferred this is `logged`.
    """

    row: int
    logged: Event
    is_added: bool
    latest: tuple[Decision, ...]
    state: Agreement
    event: Event | None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of the log's row, worst first; what there was to decide on."""
        return findings_of(self.logged)

    @property
    def needs_decision(self) -> bool:
        """A finding, or a row that somebody decided on, which is not agreed yet."""
        return self.state != "agreed" and bool(self.findings or self.latest)


def outcomes(events: Sequence[Event], decisions: Iterable[Decision]) -> list[Outcome]:
    """One outcome for each row of the log, in its order, then one for each added row.

    ValueError for a decision on a row that is not there (yet).
    """
    logged = list(events)
    latest: list[dict[str, Decision]] = [{} for _ in logged]
    for decision in decisions:
        if decision.row is None:
            assert decision.event is not None
            logged.append(decision.event)
            latest.append({decision.reviewer: decision})
        elif decision.row <= len(logged):
            latest[decision.row - 1][decision.reviewer] = decision
        else:
            raise ValueError(f"row {decision.row} is decided on, and there are {len(logged)}")
    pairs = enumerate(zip(logged, latest, strict=True), 1)
    return [
        _outcome(row, event, tuple(decided.values()), is_added=row > len(events))
        for row, (event, decided) in pairs
    ]


def is_reviewed(rows: Iterable[Outcome]) -> bool:
    """Whether every finding, and whatever else was decided on, is agreed and not deferred."""
    return not any(outcome.needs_decision for outcome in rows)


def cleared_row(event: Event) -> Event:
    """How a row counts once it is cleared: confirmed where it has a status, without findings."""
    return replace(
        event,
        status=None if event.status is None else "confirmed",
        flags=tuple(flag for flag in event.flags if flag not in FINDINGS),
        p=1.0,
    )


def _outcome(row: int, event: Event, latest: tuple[Decision, ...], *, is_added: bool) -> Outcome:
    state = _state(latest)
    stands: Event | None = event
    if state == "agreed":
        last = latest[-1]
        stands = None if last.verdict == "cleared" else last.event or event
    return Outcome(row, event, is_added, latest, state, stands)


def _state(latest: Sequence[Decision]) -> Agreement:
    if not latest:
        return "open"
    decided = [decision for decision in latest if decision.verdict != "deferred"]
    first, *others = decided or latest
    if any(_substance(first) != _substance(other) for other in others):
        return "disputed"
    return "agreed" if len(decided) == len(latest) else "deferred"


def _substance(decision: Decision) -> tuple[str, Event | None]:
    """What a decision says, less its reason; to add a row is to say that it stands."""
    if decision.verdict in ("added", "stands"):
        return "stands", None
    if decision.event is None:
        return decision.verdict, None
    return decision.verdict, replace(decision.event, heard="", note="", p=1.0)
