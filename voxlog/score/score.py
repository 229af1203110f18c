"""How good a log is against the truth of the same recording. Pure: rows in, figures out.

Which row is which. Rows match only within their kind and their item number (or id).
- Items: by order of occurrence, at any distance in time. Where one side has fewer rows of an item,
  the choice that keeps the order and has the least total distance.
- Other kinds: within a collar on the start (1.0 s unless told), the most pairs, then the least
  total distance. Then, on a tie, equal values.
- Notes are free talk and are not scored.

Findings. A row's findings are its status and flags, less confirmed and repeated, and less
uncertain, which is not about the run but about the log (findings_of). A truth finding is a hit when
the row matched to its row has the same finding; a finding of the log is false when the truth's row
has not, or when there is no such row. Recall over all findings is the recall of planted deviations.

Uncertain. On a row that is otherwise right (matched, same status, findings and value) it sends a
person to look for nothing; so does one on a row that the truth has not. Both are false. On a
matched row with something wrong in it, it is a fair warning. False findings are reported without
and with the false uncertain ones.

Item status: for every item of the truth, its final status (its last row's) against the final
status of the item in the log; an item that the log has not is wrong.

Values: over the truth's rows with a value that was spoken, so without the skipped. Right is the
same number with the same unit on the matched row; a row that was missed is wrong.

Time error: distance of the starts of matched rows that neither side calls skipped (a skipped row
has the time of another).

False findings an hour: over the given duration, else up to the end of the truth's last row.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from voxlog.follow.event import KINDS, Event
from voxlog.log.finding import FINDINGS, Finding, findings_of
from voxlog.score.matching import Pair, match_rows
from voxlog.score.tally import Ratio, Tally, TimeError

__all__ = ["COLLAR_S", "Difference", "Scores", "score"]

COLLAR_S = 1.0

_Measure = TypeVar("_Measure")

_PLANTABLE = tuple(finding for finding in FINDINGS if finding != "uncertain")
_SCORED_KINDS = tuple(kind for kind in KINDS if kind != "note")


@dataclass(frozen=True, slots=True)
class Difference:
    """One finding that only one side has, to show which and not only how many."""

    what: Literal["missed", "false"]
    finding: Finding
    kind: str
    item: str
    start_s: float


@dataclass(frozen=True, slots=True)
class Scores:
    """Every figure of one comparison. The dicts have every label and kind, also the empty ones.

    findings: all together, so its recall is that of planted deviations.
    rows_by_kind: whether rows were found at all, whatever they say.
    uncertain_false, uncertain_fair: rows flagged uncertain that were right, and that were wrong.
    """

    collar_s: float
    duration_s: float
    findings: Tally
    findings_by_label: dict[str, Tally]
    findings_by_kind: dict[str, Tally]
    rows_by_kind: dict[str, Tally]
    item_status: Ratio
    values: Ratio
    values_by_kind: dict[str, Ratio]
    time_error: TimeError
    cue_time_error: TimeError
    uncertain_false: int
    uncertain_fair: int
    differences: tuple[Difference, ...]

    @property
    def false_findings_with_uncertain(self) -> int:
        return self.findings.false + self.uncertain_false

    @property
    def false_findings_per_hour(self) -> float | None:
        return self._per_hour(self.findings.false)

    @property
    def false_findings_with_uncertain_per_hour(self) -> float | None:
        return self._per_hour(self.false_findings_with_uncertain)

    def _per_hour(self, count: int) -> float | None:
        return count * 3600 / self.duration_s if self.duration_s else None

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON values; a ratio of nothing is null."""
        return {
            "collar_s": self.collar_s,
            "duration_s": self.duration_s,
            "findings": self.findings.as_dict(),
            "findings_by_label": _plain(self.findings_by_label),
            "findings_by_kind": _plain(self.findings_by_kind),
            "rows_by_kind": _plain(self.rows_by_kind),
            "item_status": self.item_status.as_dict(),
            "values": self.values.as_dict(),
            "values_by_kind": _plain(self.values_by_kind),
            "time_error": self.time_error.as_dict(),
            "cue_time_error": self.cue_time_error.as_dict(),
            "false_findings": self.findings.false,
            "false_findings_per_hour": self.false_findings_per_hour,
            "false_findings_with_uncertain": self.false_findings_with_uncertain,
            "false_findings_with_uncertain_per_hour": self.false_findings_with_uncertain_per_hour,
            "uncertain_false": self.uncertain_false,
            "uncertain_fair": self.uncertain_fair,
            "differences": [
                {
                    "what": each.what,
                    "finding": each.finding,
                    "kind": each.kind,
                    "item": each.item,
                    "start_s": each.start_s,
                }
                for each in self.differences
            ],
        }


def score(
    log: Sequence[Event],
    truth: Sequence[Event],
    *,
    collar_s: float = COLLAR_S,
    duration_s: float | None = None,
) -> Scores:
    """Compare a log with the truth; the module's text says how. Order of the rows is no matter."""
    pairs = match_rows(log, truth, collar_s)
    uncertain = [_is_fair_warning(pair) for pair in pairs if _is_uncertain(pair)]
    last_s = max((event.end for event in truth), default=0.0)
    return Scores(
        collar_s=collar_s,
        duration_s=last_s if duration_s is None else duration_s,
        findings=_tally_findings(pairs),
        findings_by_label={label: _tally_findings(pairs, [label]) for label in _PLANTABLE},
        findings_by_kind=_for_kinds(pairs, _tally_findings),
        rows_by_kind=_for_kinds(pairs, _tally_rows),
        item_status=_compare_final_statuses(log, truth),
        values=_compare_values(pairs),
        values_by_kind=_for_kinds(pairs, _compare_values),
        time_error=_time_error(pairs),
        cue_time_error=_time_error([pair for pair in pairs if _kind(pair) == "cue"]),
        uncertain_false=uncertain.count(False),
        uncertain_fair=uncertain.count(True),
        differences=tuple(each for pair in pairs for each in _differences(pair)),
    )


def _plain(table: dict[str, Tally] | dict[str, Ratio]) -> dict[str, Any]:
    return {name: each.as_dict() for name, each in table.items()}


def _for_kinds(
    pairs: Sequence[Pair], measure: Callable[[Sequence[Pair]], _Measure]
) -> dict[str, _Measure]:
    return {kind: measure([p for p in pairs if _kind(p) == kind]) for kind in _SCORED_KINDS}


def _kind(pair: Pair) -> str:
    event = pair.truth or pair.log
    assert event is not None
    return event.kind


def _labels(event: Event | None) -> set[Finding]:
    return set() if event is None else {*findings_of(event)} - {"uncertain"}


def _tally_findings(pairs: Sequence[Pair], only: Sequence[Finding] = _PLANTABLE) -> Tally:
    total = Tally()
    for pair in pairs:
        true, logged = _labels(pair.truth) & {*only}, _labels(pair.log) & {*only}
        total += Tally(len(true & logged), len(logged - true), len(true - logged))
    return total


def _tally_rows(pairs: Sequence[Pair]) -> Tally:
    missed = sum(pair.log is None for pair in pairs)
    false = sum(pair.truth is None for pair in pairs)
    return Tally(len(pairs) - missed - false, false, missed)


def _differences(pair: Pair) -> list[Difference]:
    true, logged = _labels(pair.truth), _labels(pair.log)
    found = []
    for finding in _PLANTABLE:
        if pair.truth is not None and finding in true - logged:
            found.append(_difference("missed", finding, pair.truth))
        if pair.log is not None and finding in logged - true:
            found.append(_difference("false", finding, pair.log))
    return found


def _difference(what: Literal["missed", "false"], finding: Finding, event: Event) -> Difference:
    return Difference(what, finding, event.kind, event.item, event.start)


def _is_uncertain(pair: Pair) -> bool:
    return pair.log is not None and "uncertain" in pair.log.flags


def _is_fair_warning(pair: Pair) -> bool:
    """Something is wrong in a row that the run really has."""
    if pair.truth is None or pair.log is None:
        return False
    is_right = pair.truth.status == pair.log.status and _labels(pair.truth) == _labels(pair.log)
    return not (is_right and _same_value(pair.truth, pair.log))


def _same_value(one: Event, other: Event) -> bool:
    return one.value == other.value and (one.value is None or one.unit == other.unit)


def _compare_final_statuses(log: Iterable[Event], truth: Iterable[Event]) -> Ratio:
    final_log, final_truth = _final_statuses(log), _final_statuses(truth)
    right = sum(final_log.get(item) == status for item, status in final_truth.items())
    return Ratio(right, len(final_truth))


def _final_statuses(events: Iterable[Event]) -> dict[str, str]:
    items = sorted((e for e in events if e.kind == "item"), key=lambda event: event.start)
    return {event.item: event.status or "" for event in items}


def _compare_values(pairs: Sequence[Pair]) -> Ratio:
    spoken = [
        pair
        for pair in pairs
        if pair.truth and pair.truth.value is not None and _is_said(pair.truth)
    ]
    right = sum(bool(p.truth and p.log and _same_value(p.truth, p.log)) for p in spoken)
    return Ratio(right, len(spoken))


def _is_said(event: Event) -> bool:
    return event.status != "skipped"


def _time_error(pairs: Iterable[Pair]) -> TimeError:
    return TimeError.of(
        [
            abs(pair.truth.start - pair.log.start)
            for pair in pairs
            if pair.truth and pair.log and _is_said(pair.truth) and _is_said(pair.log)
        ]
    )
