"""The findings of a run, numbered by weight, with what a person needs to decide each."""

from dataclasses import dataclass

from voxlog.debrief.run import Run
from voxlog.debrief.wording import name_of, position_title, probability, utc_of, wanted_of
from voxlog.follow.event import Event
from voxlog.report.summary import sort_findings
from voxlog.report.words import (
    Severity,
    describe_findings,
    format_clock,
    format_value,
    severity,
)
from voxlog.review.decision import Decision
from voxlog.review.outcome import Outcome

__all__ = ["Finding", "Ruling", "findings_of_run", "optional_items", "rulings_of", "weight_of"]

_VERDICTS = {
    "stands": "stands",
    "cleared": "cleared, misheard",
    "corrected": "corrected",
    "deferred": "deferred",
    "added": "added, the log had missed it",
}
_WEIGHTS = ("grave", "omitted", "open", "order", "order", "order", "unsure")
"""Names of the orders of severity that the style of the page knows."""


@dataclass(frozen=True, slots=True)
class Ruling:
    """One reviewer's latest decision, in words. at: in UTC, to the minute."""

    reviewer: str
    verdict: str
    reason: str
    at: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A finding, and what the page shows of it.

    number: by weight, 1 the gravest; it stays the same whatever is decided. n: the log's row.
    weight: a word for the style; mark: the same in print. state: open, agreed, disputed, deferred.
    """

    number: int
    n: int
    event: Event
    weight: str
    mark: str
    name: str
    words: str
    wanted: str
    who: str
    clock: str
    utc: str
    p: str
    state: str
    rulings: tuple[Ruling, ...]

    @property
    def is_decided(self) -> bool:
        return self.state == "agreed"


def findings_of_run(run: Run) -> list[Finding]:
    """The gravest first, as in the summary on the terminal."""
    numbers = {id(event): n for n, event in enumerate(run.events, 1)}
    optional = optional_items(run)
    return [
        _finding(run, number, numbers[id(event)], event)
        for number, event in enumerate(sort_findings(run.events, optional), 1)
    ]


def optional_items(run: Run) -> frozenset[str]:
    return frozenset(item.key for item in run.sheet.items if not item.mandatory)


def weight_of(run: Run, event: Event) -> tuple[str, str]:
    """Weight and mark of a row's worst finding; empty for a row without any."""
    worst = _severity(run, event)
    return ("", "") if worst is None else (_WEIGHTS[worst.order], worst.mark)


def rulings_of(run: Run, outcome: Outcome) -> tuple[Ruling, ...]:
    """The latest decision of each reviewer."""
    return tuple(_ruling(run, decision) for decision in outcome.latest)


def _severity(run: Run, event: Event) -> Severity | None:
    return severity(event, is_optional=_is_optional(run, event))


def _is_optional(run: Run, event: Event) -> bool:
    return event.kind == "item" and event.item in optional_items(run)


def _finding(run: Run, number: int, n: int, event: Event) -> Finding:
    outcome = run.outcomes[n - 1]
    weight, mark = weight_of(run, event)
    return Finding(
        number=number,
        n=n,
        event=event,
        weight=weight,
        mark=mark,
        name=name_of(run.sheet, event),
        words=_words(run, event),
        wanted=wanted_of(run.sheet, event),
        who=position_title(run.sheet, event.position),
        clock=format_clock(event.start),
        utc=utc_of(run, event.start),
        p=probability(event.p),
        state=outcome.state,
        rulings=rulings_of(run, outcome),
    )


def _words(run: Run, event: Event) -> str:
    """The findings; without the value where the row's name has it already."""
    words = describe_findings(event, is_optional=_is_optional(run, event))
    if event.kind == "item" or event.value is None:
        return words
    return words.replace(f": {format_value(event.value, event.unit)}", "")


def _ruling(run: Run, decision: Decision) -> Ruling:
    words = _VERDICTS[decision.verdict]
    if decision.event is not None:
        words = f"{words}: {_as_corrected(run, decision.event)}"
    return Ruling(decision.reviewer, words, decision.reason, f"{decision.at:%Y-%m-%d %H:%M} UTC")


def _as_corrected(run: Run, event: Event) -> str:
    value = ""
    if event.kind == "item" and event.value is not None:
        value = format_value(event.value, event.unit)
    parts = (name_of(run.sheet, event), value, _words(run, event) or event.status or "")
    return f"{', '.join(part for part in parts if part)}, at {format_clock(event.start)}"
