"""YAML text to plain data, with the line and column of every part.

ruamel.yaml scans and parses; this module builds the data itself from the stream of events,
because only so can it stop at a limit (nesting, aliases) before anything is built, keep all the
duplicate keys, and say where each value stands. Scalars follow the YAML 1.2.2 core schema
(section 10.3.2): `no` is text, `12:30` is text.
"""

import re
from dataclasses import dataclass, field
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    CollectionEndEvent,
    CollectionStartEvent,
    DocumentStartEvent,
    Event,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
)

from voxlog.sheet.marks import Loc, Mark

__all__ = ["Tree", "read_tree"]

MAX_DEPTH: Final = 16
# A sheet of 500 items has about 11,000; ruamel.yaml reads some 20,000 a second.
MAX_PARTS: Final = 50_000

_NULL = re.compile(r"(?:~|null|Null|NULL|)\Z")
_TRUE = re.compile(r"(?:true|True|TRUE)\Z")
_FALSE = re.compile(r"(?:false|False|FALSE)\Z")
# More digits than any limit needs would only let int() fail or float() overflow.
_INT = re.compile(r"[-+]?[0-9]{1,18}\Z")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]{1,3})?\Z")


@dataclass
class Tree:
    """Plain data (dict, list, str, int, float, bool, None) and where its parts stand.

    keys: where each mapping key stands, by the loc of its value; values: where values start.
    faults: what is wrong with the text as YAML.
    is_whole: whether `data` is all that the text says, faults (double keys) or not.
    """

    data: Any = None
    keys: dict[Loc, Mark] = field(default_factory=dict)
    values: dict[Loc, Mark] = field(default_factory=dict)
    faults: list[tuple[Mark, str]] = field(default_factory=list)
    is_whole: bool = True

    def mark(self, loc: Loc) -> Mark:
        """Where `loc` stands, or the nearest part around it that is known."""
        while loc and loc not in self.values:
            loc = loc[:-1]
        return self.values.get(loc, Mark(1, 1))


class _StopError(Exception):
    """No use in reading on."""


def read_tree(text: str) -> Tree:
    """Read YAML; never raises for any text, faults are in the tree."""
    builder = _Builder()
    tree = builder.tree
    try:
        for event in YAML(typ="safe", pure=True).parse(text):
            builder.take(event)
    except _StopError:
        tree.is_whole = False
    except (YAMLError, ValueError, OverflowError) as error:
        # ValueError, OverflowError: ruamel.yaml passes on what chr() says of "\\UFFFFFFFF".
        tree.is_whole = False
        tree.faults.append(_syntax_fault(error, text))
    return tree


def _syntax_fault(error: Exception, text: str) -> tuple[Mark, str]:
    if isinstance(error, MarkedYAMLError):
        return _marked_fault(error)
    position = getattr(error, "position", 0)
    before = text[:position] if isinstance(position, int) else ""
    place = Mark(before.count("\n") + 1, len(before) - before.rfind("\n"))
    return place, "a character or escape that text cannot have; save the sheet as plain text"


def _marked_fault(error: MarkedYAMLError) -> tuple[Mark, str]:
    mark = error.problem_mark or error.context_mark
    place = Mark(mark.line + 1, mark.column + 1) if mark else Mark(1, 1)
    problem = error.problem or error.context or "it cannot be read"
    if "'\\t'" in problem:
        return place, "a tab where spaces belong; indent with spaces"
    return place, f"not YAML: {problem}; check the indents, colons and quotes here and above"


class _Builder:
    """Builds the data from events with its own stack, so that no text can exhaust Python's."""

    def __init__(self) -> None:
        self.tree = Tree()
        self._stack: list[_Open] = []
        self._documents = 0
        self._parts = 0

    def take(self, event: Event) -> None:
        mark = Mark(event.start_mark.line + 1, event.start_mark.column + 1)
        if isinstance(event, DocumentStartEvent):
            self._start_document(event, mark)
        elif isinstance(event, CollectionEndEvent):
            self._stack.pop()
        elif isinstance(event, NodeEvent):
            self._refuse_references(event, mark)
            self._add(event, mark)

    def _start_document(self, event: DocumentStartEvent, mark: Mark) -> None:
        self._documents += 1
        if self._documents > 1:
            self._stop(mark, "a second YAML document starts here; keep one sheet in one file")
        if event.tags or (event.version and tuple(event.version) != (1, 2)):
            self._stop(Mark(1, 1), "YAML directives are not used in sheets; remove the % lines")

    def _refuse_references(self, event: NodeEvent, mark: Mark) -> None:
        if isinstance(event, AliasEvent):
            self._stop(mark, f"alias *{event.anchor} is not allowed; write the part out")
        if event.anchor is not None:
            self._stop(mark, f"anchor &{event.anchor} is not allowed; remove it")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._stop(mark, f"tag {tag} is not allowed; remove it")

    def _add(self, event: NodeEvent, mark: Mark) -> None:
        if len(self._stack) >= MAX_DEPTH:
            self._stop(mark, f"nested more than {MAX_DEPTH} deep; a sheet needs 7")
        self._parts += 1
        if self._parts > MAX_PARTS:
            self._stop(mark, f"more than {MAX_PARTS:,} keys and values; split it into sheets")
        parent = self._stack[-1] if self._stack else None
        if isinstance(parent, _OpenMapping) and parent.key is None:
            self._take_key(parent, event, mark)
            return
        value, opened = _value(event)
        loc = self._place(parent, value)
        self.tree.values[loc] = mark
        if opened is not None:
            opened.loc = loc
            self._stack.append(opened)

    def _take_key(self, parent: "_OpenMapping", event: NodeEvent, mark: Mark) -> None:
        if not isinstance(event, ScalarEvent):
            self._stop(mark, "a key must be one word; write `key: value`")
            return
        key = str(event.value)
        loc = (*parent.loc, key)
        if key in parent.content:
            first = self.tree.keys[loc].line
            self.tree.faults.append(
                (mark, f"key `{key}` is already on line {first}; keep one of them")
            )
        self.tree.keys[loc] = mark
        parent.key = key

    def _place(self, parent: "_Open | None", value: Any) -> Loc:
        if parent is None:
            self.tree.data = value
            return ()
        if isinstance(parent, _OpenList):
            parent.content.append(value)
            return (*parent.loc, len(parent.content) - 1)
        assert parent.key is not None
        loc = (*parent.loc, parent.key)
        parent.content[parent.key] = value
        parent.key = None
        return loc

    def _stop(self, mark: Mark, message: str) -> None:
        self.tree.faults.append((mark, message))
        raise _StopError


@dataclass
class _OpenMapping:
    content: dict[str, Any]
    loc: Loc = ()
    key: str | None = None


@dataclass
class _OpenList:
    content: list[Any]
    loc: Loc = ()


_Open = _OpenMapping | _OpenList


def _value(event: NodeEvent) -> tuple[Any, _Open | None]:
    if isinstance(event, MappingStartEvent):
        content: dict[str, Any] = {}
        return content, _OpenMapping(content)
    if isinstance(event, CollectionStartEvent):
        entries: list[Any] = []
        return entries, _OpenList(entries)
    assert isinstance(event, ScalarEvent)
    return (event.value if event.style in ("'", '"', "|", ">") else _plain(event.value)), None


def _plain(text: str) -> str | int | float | bool | None:
    if _NULL.match(text):
        return None
    if _TRUE.match(text):
        return True
    if _FALSE.match(text):
        return False
    if _INT.match(text):
        return int(text)
    return float(text) if _FLOAT.match(text) else text
