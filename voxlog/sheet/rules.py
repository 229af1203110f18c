"""What no single field of a sheet can know: names used before they exist, numbers used twice.

The rules read the plain data of the YAML text, not the Sheet, so that they still report when a
field elsewhere is wrong. They pass over anything of the wrong type; its own field complains.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final, NamedTuple

from voxlog.sheet.model import Loc
from voxlog.sheet.problem import nearest

__all__ = ["Breach", "breaches"]


class Breach(NamedTuple):
    """A rule broken at a place; {line:LOC} marks are not used, the loc of the other is."""

    loc: Loc
    message: str
    other: Loc | None = None


def breaches(data: Mapping[str, Any]) -> Iterator[Breach]:
    """Every breach of every rule."""
    for rule in _RULES:
        yield from rule(data)


_RULES: Final[tuple[Callable[[Mapping[str, Any]], Iterator[Breach]], ...]] = ()
