"""Small edits of a YAML text that leave every other character where it is. Pure.

ruamel.yaml says where each node begins and ends; the edit is made in the text itself, so comments,
quotes, spacing and line ends stay. The text must be YAML that composes (a sheet that was read).
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

__all__ = ["Loc", "add_phrase", "add_remark", "entries", "replace_words", "set_scalars"]

Loc = tuple[str | int, ...]

# What a plain scalar may hold inside brackets without quotes; all else is quoted.
_PLAIN = re.compile(r"[A-Za-z][A-Za-z' -]*[A-Za-z']|[A-Za-z]")


def add_phrase(text: str, loc: Loc, key: str, phrase: str) -> str:
    """Add a phrase to the list `key` of the mapping at `loc`; the list is made where it lacks.

    phrase: words without quotes or backslashes.
    """
    quoted = f'"{phrase}"'
    mapping = _node(text, loc)
    assert isinstance(mapping, MappingNode)
    value = _value_of(mapping, key)
    if value is None:
        return _add_key(text, mapping, f"{key}: [{quoted}]")
    if isinstance(value, ScalarNode):
        start, end = _span(value)
        return f"{text[:start]}[{_flow_text(value, text)}, {quoted}]{text[end:]}"
    assert isinstance(value, SequenceNode)
    if not value.value:
        start, end = _span(value)
        return f"{text[:start]}[{quoted}]{text[end:]}"
    end = _end(value.value[-1])
    if value.flow_style:
        return f"{text[:end]}, {quoted}{text[end:]}"
    return _add_line(text, end, f"{_indent(text, value.value[0])}{quoted}")


def add_remark(text: str, loc: Loc, remark: str) -> str:
    """Put a comment on a line of its own above the line where the node at `loc` begins.

    Nothing is done where the line above says the same already.
    """
    start = text.rfind("\n", 0, _start(_node(text, loc))) + 1
    line = text[start:]
    space = line[: len(line) - len(line.lstrip(" "))]
    comment = f"{space}# {remark}{_newline(text)}"
    return text if text[:start].endswith(comment) else f"{text[:start]}{comment}{text[start:]}"


def set_scalars(text: str, loc: Loc, values: Mapping[str, str]) -> str:
    """Write values for keys of the mapping at `loc`; a key that it lacks is added."""
    for key, written in values.items():
        mapping = _node(text, loc)
        assert isinstance(mapping, MappingNode)
        value = _value_of(mapping, key)
        if value is None:
            text = _add_key(text, mapping, f"{key}: {written}")
        else:
            start, end = _span(value)
            text = f"{text[:start]}{written}{text[end:]}"
    return text


def replace_words(text: str, loc: Loc, words: Sequence[str], new: str) -> str:
    """Write `new` for each of the whole words in the node at `loc`, if there is one."""
    try:
        node = _node(text, loc)
    except LookupError:
        return text
    start, end = _start(node), _end(node)
    pattern = rf"(?<![\w-])(?:{'|'.join(map(re.escape, words))})(?![\w-])"
    changed = re.sub(pattern, new, text[start:end], flags=re.IGNORECASE)
    return f"{text[:start]}{changed}{text[end:]}"


def entries(text: str, loc: Loc) -> tuple[str, ...] | None:
    """The entries of the list of scalars at `loc`, one for a scalar; None where there is none."""
    try:
        node = _node(text, loc)
    except LookupError:
        return None
    listed = node.value if isinstance(node, SequenceNode) else [node]
    return tuple(str(entry.value) for entry in listed)


def _node(text: str, loc: Loc) -> Node:
    """LookupError where there is none."""
    node: Any = YAML(typ="safe", pure=True).compose(text)
    for part in loc:
        if isinstance(node, MappingNode):
            found = _value_of(node, str(part))
            if found is None:
                raise LookupError(part)
            node = found
        else:
            assert isinstance(node, SequenceNode)
            assert isinstance(part, int)
            node = node.value[part]
    assert isinstance(node, Node)
    return node


def _value_of(mapping: MappingNode, key: str) -> Node | None:
    return next((value for name, value in mapping.value if name.value == key), None)


def _start(node: Node) -> int:
    return int(node.start_mark.index)


def _end(node: Node) -> int:
    """Where the node's last character is; a block's own mark is at what follows it."""
    if isinstance(node, SequenceNode | MappingNode) and not node.flow_style and node.value:
        last = node.value[-1]
        return _end(last[1] if isinstance(last, tuple) else last)
    return int(node.end_mark.index)


def _span(node: Node) -> tuple[int, int]:
    return _start(node), _end(node)


def _flow_text(scalar: ScalarNode, text: str) -> str:
    """A scalar as it may stand inside brackets."""
    start, end = _span(scalar)
    if scalar.style in ("'", '"') or _PLAIN.fullmatch(text[start:end]):
        return text[start:end]
    value = str(scalar.value).strip().replace("\\", "\\\\").replace('"', '\\"')
    return f'"{value}"'


def _add_key(text: str, mapping: MappingNode, entry: str) -> str:
    """After the mapping's last key."""
    end = _end(mapping.value[-1][1])
    if mapping.flow_style:
        return f"{text[:end]}, {entry}{text[end:]}"
    return _add_line(text, end, " " * mapping.value[0][0].start_mark.column + entry)


def _add_line(text: str, end: int, line: str) -> str:
    """A line after the one that holds the character before `end`, and its comment."""
    place = text.find("\n", end)
    if place < 0:
        return f"{text}{_newline(text)}{line}"
    return f"{text[: place + 1]}{line}{_newline(text)}{text[place + 1 :]}"


def _indent(text: str, entry: Node) -> str:
    """What stands before an entry of a block list, its dash included."""
    start = _start(entry)
    return text[text.rfind("\n", 0, start) + 1 : start]


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"
