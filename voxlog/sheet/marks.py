"""Where the parts of a sheet or a site file stand in its text, so that a complaint can say so."""

from collections.abc import Mapping
from typing import NamedTuple, Self

from pydantic import PrivateAttr

from voxlog.sheet.parts import Part

__all__ = ["Loc", "Mark", "Marked"]

Loc = tuple[str | int, ...]
"""A place in the YAML text: keys and list indexes from the top, ("phases", 0, "steps", 3)."""


class Mark(NamedTuple):
    """A place in the text, line and column from 1."""

    line: int
    column: int


class Marked(Part):
    """A whole file that knows where its parts stand in it."""

    _file: str = PrivateAttr("")
    _marks: Mapping[Loc, Mark] = PrivateAttr(default_factory=dict)

    @property
    def file(self) -> str:
        """Name of the file that it was read from; "" if from none."""
        return self._file

    def mark_of(self, loc: Loc) -> Mark:
        """Where `loc` starts in that file; line 0 if not from a file."""
        return self._marks.get(loc, Mark(0, 0))

    def with_marks(self, file: str, marks: Mapping[Loc, Mark]) -> Self:
        """The same, knowing where its parts stand in the file that it was read from."""
        copy = self.model_copy()
        copy._file, copy._marks = file, marks  # noqa: SLF001  # its own, on a copy
        return copy
