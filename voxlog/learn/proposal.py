"""From the lessons of many runs to proposals, and from a proposal to an edit of the sheet. Pure.

A proposal needs MIN_RUNS different runs and MIN_REVIEWERS different reviewers that say the same:
one crew's habit, and one person's opinion, change no sheet. What falls short is told and not
proposed. What contradicts itself (the same words found to confirm and to deny, a value found right
in the sheet's unit as well) is not proposed either.

    response   the words are added to the item's `confirm` or `deny`
    misheard   a comment above the phrase: what could be said instead is for people to know, and a
               denial that was taken off the sheet would be missed
    unit       unit, limits and range are converted, and the unit's words in `say`; limits are
               rounded to the safe side. A comment where the conversion is not known, and for
               callouts, whose levels stand in other places too
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from voxlog.learn.lesson import Lesson, LessonKind

__all__ = ["MIN_REVIEWERS", "MIN_RUNS", "Proposal", "Weighed", "weigh"]

MIN_RUNS = 3
MIN_REVIEWERS = 2


@dataclass(frozen=True, slots=True)
class Proposal:
    """What several runs say; the fields are those of Lesson. lessons: where it comes from."""

    kind: LessonKind
    step: str
    act: str
    phrase: str
    unit: str
    lessons: tuple[Lesson, ...]

    @property
    def runs(self) -> int:
        return len({lesson.seal for lesson in self.lessons})

    @property
    def reviewers(self) -> int:
        return len({code for lesson in self.lessons for code in lesson.reviewers})

    @property
    def is_enough(self) -> bool:
        """Whether there are runs and reviewers enough."""
        return self.runs >= MIN_RUNS and self.reviewers >= MIN_REVIEWERS


@dataclass(frozen=True, slots=True)
class Weighed:
    """enough: to be proposed. short: too few runs or reviewers. disputed: with what speaks against
    each.
    """

    enough: tuple[Proposal, ...]
    short: tuple[Proposal, ...]
    disputed: tuple[tuple[Proposal, str], ...]


def weigh(lessons: Iterable[Lesson]) -> Weighed:
    """Group lessons that say the same, in the order of the first of each; copies count once."""
    distinct = {(lesson.seal, lesson.row, lesson.kind): lesson for lesson in lessons}
    groups: dict[tuple[LessonKind, str, str, str, str], list[Lesson]] = defaultdict(list)
    for lesson in distinct.values():
        key = (lesson.kind, lesson.step, lesson.act, lesson.phrase, lesson.unit)
        groups[key].append(lesson)
    proposals = [Proposal(*key, tuple(group)) for key, group in groups.items()]
    enough: list[Proposal] = []
    short: list[Proposal] = []
    disputed: list[tuple[Proposal, str]] = []
    for proposal in proposals:
        if proposal.kind == "own-unit":
            continue
        against = _against(proposal, proposals)
        if against:
            disputed.append((proposal, against))
        else:
            (enough if proposal.is_enough else short).append(proposal)
    return Weighed(tuple(enough), tuple(short), tuple(disputed))


def _against(proposal: Proposal, others: Sequence[Proposal]) -> str:
    for other in others:
        if other is proposal or other.step != proposal.step:
            continue
        if proposal.kind == other.kind == "response" and other.phrase == proposal.phrase:
            return "the same words were found to confirm and to deny"
        is_value = other.kind in ("unit", "own-unit") and other.act == proposal.act
        if proposal.kind == "unit" and is_value:
            return f"it was spoken in {other.unit} as well"
    return ""
