"""Figures of several runs together: counts are added before any ratio is taken. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from voxlog.follow.event import Event
from voxlog.score.matching import match_rows
from voxlog.score.score import COLLAR_S, Difference, Scores, score
from voxlog.score.tally import Ratio, Tally, TimeError

__all__ = ["Pooled", "pool"]

Compared = tuple[Sequence[Event], Sequence[Event]]
"""A log and its truth."""


@dataclass(frozen=True, slots=True)
class Pooled:
    """The scores of each run, and the distances in time of all of them in seconds."""

    scores: tuple[Scores, ...]
    distances_s: tuple[float, ...]

    @property
    def item_status(self) -> Ratio:
        return _add_ratios(each.item_status for each in self.scores)

    @property
    def values(self) -> Ratio:
        return _add_ratios(each.values for each in self.scores)

    @property
    def findings(self) -> Tally:
        return sum((each.findings for each in self.scores), Tally())

    @property
    def with_uncertain(self) -> int:
        """False findings and false warnings."""
        return sum(each.false_findings_with_uncertain for each in self.scores)

    @property
    def time_error(self) -> TimeError:
        return TimeError.of(list(self.distances_s))

    @property
    def differences(self) -> tuple[tuple[Difference, ...], ...]:
        """For each run what it missed, and what it found that was not there."""
        return tuple(each.differences for each in self.scores)

    def tallies(self) -> dict[str, Tally]:
        """Findings by label, then by kind of row."""
        tables = [[*s.findings_by_label.items(), *s.findings_by_kind.items()] for s in self.scores]
        together: dict[str, Tally] = {}
        for name, tally in (pair for table in tables for pair in table):
            together[name] = together.get(name, Tally()) + tally
        return together

    def in_60_items(self, count: int) -> float:
        return 60 * count / self.item_status.total

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON values, with each run's own beside the pooled."""
        return {
            "item_status": self.item_status.as_dict(),
            "findings": self.findings.as_dict(),
            "false_findings_with_uncertain": self.with_uncertain,
            "values": self.values.as_dict(),
            "time_error": self.time_error.as_dict(),
            "tallies": {name: tally.as_dict() for name, tally in self.tallies().items()},
            "runs": [each.as_dict() for each in self.scores],
        }


def pool(compared: Iterable[Compared]) -> Pooled:
    """Score each log against its truth, and keep all together."""
    pairs = [(list(log), list(truth)) for log, truth in compared]
    return Pooled(
        scores=tuple(score(log, truth) for log, truth in pairs),
        distances_s=tuple(each for log, truth in pairs for each in _distances(log, truth)),
    )


def _distances(log: Sequence[Event], truth: Sequence[Event]) -> Iterable[float]:
    """As voxlog.score has them: of matched rows that neither side calls skipped."""
    for pair in match_rows(log, truth, COLLAR_S):
        if pair.log and pair.truth and "skipped" not in (pair.log.status, pair.truth.status):
            yield abs(pair.truth.start - pair.log.start)


def _add_ratios(ratios: Iterable[Ratio]) -> Ratio:
    both = [(each.right, each.total) for each in ratios]
    return Ratio(sum(right for right, _ in both), sum(total for _, total in both))
