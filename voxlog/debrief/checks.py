"""Item by item: every item of the sheet, in its order, with what became of it."""

from dataclasses import dataclass

from voxlog.debrief.answers import answer_of
from voxlog.debrief.findings import optional_items, weight_of
from voxlog.debrief.run import Run
from voxlog.debrief.wording import position_title, probability, quoted, spoken_limits, utc_of
from voxlog.follow.event import Event
from voxlog.report.words import (
    describe_findings,
    format_clock,
    format_value,
)
from voxlog.sheet.model import Item

__all__ = ["Check", "CheckPhase", "check_phases"]


@dataclass(frozen=True, slots=True)
class Check:
    """A row of the table. n: its row in the log, 0 for an item that the log does not have.

    delay_s: None where it is not known; within_s: what the sheet allows. share: delay against
    what is allowed, 0 to 100 (beyond it 100). who: title of who answered, "" for nobody.
    by_channel: the channel says so. heard_on: title of another position on whose channel it was.
    review: "" or what the review made of the row.
    """

    n: int
    item: Item
    wanted: str
    clock: str
    utc: str
    status: str
    words: str
    weight: str
    mark: str
    delay_s: float | None
    within_s: float
    share: float
    who: str
    by_channel: bool
    heard_on: str
    heard: str
    value: str
    p: str
    note: str
    review: str


@dataclass(frozen=True, slots=True)
class CheckPhase:
    """The checks of a phase."""

    title: str
    checks: tuple[Check, ...]


def check_phases(run: Run) -> list[CheckPhase]:
    """Phases with items; an item worked through more than once has a row each time."""
    rows: dict[str, list[int]] = {}
    for n, event in enumerate(run.events, 1):
        if event.kind == "item":
            rows.setdefault(event.item, []).append(n)
    return [
        CheckPhase(
            phase.title,
            tuple(
                _check(run, item, n) if n else _unlogged(run, item)
                for item in phase.steps
                if isinstance(item, Item)
                for n in rows.get(item.key, [0])
            ),
        )
        for phase in run.sheet.phases
        if any(isinstance(step, Item) for step in phase.steps)
    ]


def _check(run: Run, item: Item, n: int) -> Check:
    event = run.row_now(n)
    weight, mark = weight_of(run, event)
    answer = answer_of(run, item, run.events[n - 1])
    within = run.sheet.seconds_to_answer(item)
    return Check(
        n=n,
        item=item,
        wanted=_wanted(item),
        clock=format_clock(event.start),
        utc=utc_of(run, event.start),
        status=event.status or "",
        words=_flags_in_words(run, event),
        weight=weight,
        mark=mark,
        delay_s=answer.delay_s,
        within_s=within,
        share=0.0 if answer.delay_s is None else round(min(answer.delay_s / within, 1) * 100, 1),
        who=position_title(run.sheet, answer.position),
        by_channel=answer.by_channel,
        heard_on=position_title(run.sheet, answer.heard_on),
        heard=event.heard,
        value="" if event.value is None else format_value(event.value, event.unit),
        p=probability(event.p),
        note=event.note,
        review=_review(run, n),
    )


def _flags_in_words(run: Run, event: Event) -> str:
    """What the status does not say yet."""
    words = describe_findings(event, is_optional=event.item in optional_items(run)).split("; ")
    said = {"answered negative", "not confirmed", "skipped, not heard"}
    again = ["done or asked again"] if "repeated" in event.flags else []
    return "; ".join([word for word in words if word and word not in said] + again)


def _review(run: Run, n: int) -> str:
    outcome = run.outcomes[n - 1]
    if not outcome.latest:
        return ""
    if outcome.state != "agreed":
        return f"review: {outcome.state}"
    return f"review: {outcome.latest[-1].verdict}, logged as {outcome.logged.status}"


def _wanted(item: Item) -> str:
    return spoken_limits(item.value) if item.value else quoted(item.confirm)


def _unlogged(run: Run, item: Item) -> Check:
    return Check(
        n=0,
        item=item,
        wanted=_wanted(item),
        clock="",
        utc="",
        status="not in the log",
        words="",
        weight="",
        mark="",
        delay_s=None,
        within_s=run.sheet.seconds_to_answer(item),
        share=0.0,
        who="",
        by_channel=False,
        heard_on="",
        heard="",
        value="",
        p="",
        note="",
        review="",
    )
