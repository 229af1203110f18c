"""What is wrong with a sheet, where, and what would be right."""

from collections.abc import Iterable
from dataclasses import dataclass

from rapidfuzz import fuzz, process

from voxlog.errors import InputError

__all__ = ["Problem", "SheetError", "nearest"]


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One fault or warning; line and column count from 1, 0 where there is no place."""

    file: str
    line: int
    column: int
    message: str

    def __str__(self) -> str:
        place = f":{self.line}:{self.column}" if self.line else ""
        return f"{self.file}{place}: {self.message}"


class SheetError(InputError):
    """A sheet that cannot be used; `problems` holds every fault found, in file order.

    Its text is one line: the first problem, and how many more there are.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        first, more = self.problems[0], len(self.problems) - 1
        rest = f" (and {more} more; run `voxlog sheet check {first.file}`)" if more else ""
        super().__init__(f"{first}{rest}")


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name most like `name`, or "" when none is near enough to suggest."""
    best = process.extractOne(name.lower(), sorted(known), scorer=fuzz.ratio, score_cutoff=70)
    return best[0] if best else ""
