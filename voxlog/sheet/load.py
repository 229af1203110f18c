"""Read a run sheet. The only part of `voxlog.sheet` that touches a file.

Everything wrong with a sheet is found in one reading and reported together, each with its line
and column, what is wrong and what would be right.
"""

from itertools import islice
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from voxlog.errors import InputError
from voxlog.sheet.complaint import complaint
from voxlog.sheet.model import MAX_DEFINITIONS, Loc, Mark, Sheet
from voxlog.sheet.notation import expand_definitions
from voxlog.sheet.problem import Problem, SheetError
from voxlog.sheet.rules import Breach, breaches
from voxlog.sheet.tree import Tree, read_tree

__all__ = ["MAX_BYTES", "load_sheet", "read_sheet"]

MAX_BYTES: Final = 1 << 20


def load_sheet(path: str | Path) -> Sheet:
    """Read the sheet in a file; SheetError for a bad sheet, InputError for a bad file."""
    try:
        with Path(path).open("rb") as file:
            content = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"{path}: {reason.lower()}; name a readable sheet file") from None
    return read_sheet(_decoded(content, str(path)), str(path))


def read_sheet(text: str, name: str = "sheet") -> Sheet:
    """Read a sheet from its YAML text; `name` stands in messages where a file's name would.

    Raises SheetError for any text that is not a right sheet, and no other exception.
    """
    _refuse_hopeless(text, name)
    tree = read_tree(text)
    if not tree.is_whole:
        raise _error(name, tree.faults)
    if not isinstance(tree.data, dict):
        raise _error(name, [(Mark(1, 1), "not a sheet; start with `voxlog-sheet: 1`")])
    return _sheet(tree, name)


def _sheet(tree: Tree, name: str) -> Sheet:
    """The sheet in well-formed data; all its faults at once."""
    faults = list(tree.faults)
    definitions, definition_faults = expand_definitions(_written_definitions(tree.data))
    faults += [(tree.mark(("define", key)), text) for key, text in definition_faults.items()]
    faults += [_breach_fault(breach, tree) for breach in breaches(tree.data)]
    sheet = None
    try:
        sheet = Sheet.model_validate(tree.data, context={"definitions": definitions})
    except ValidationError as error:
        for details in error.errors(include_url=False):
            faults += _faults(details, tree)
    if faults or sheet is None:
        raise _error(name, faults)
    return sheet.with_marks(name, tree.values)


def _breach_fault(breach: Breach, tree: Tree) -> tuple[Mark, str]:
    where = "" if breach.other is None else f" on line {tree.mark(breach.other).line}"
    return tree.mark(breach.loc), f"{breach.what}{where}; {breach.cure}"


def _faults(details: ErrorDetails, tree: Tree) -> list[tuple[Mark, str]]:
    """Translate one pydantic error; a list of phrases may hold several."""
    loc = _real_loc(details["loc"], tree)
    if details["type"] == "extra_forbidden":
        return [(tree.keys.get(loc, tree.mark(loc)), complaint(details))]
    inner: dict[int, str] | None = details.get("ctx", {}).get("faults")
    if inner:
        return [(tree.mark((*loc, index)), text) for index, text in inner.items()]
    return [(tree.mark(loc), complaint(details))]


def _real_loc(loc: Loc, tree: Tree) -> Loc:
    """`loc` without pydantic's own additions (the kind of a step), as far as the text has it."""
    real: Loc = ()
    for part in loc:
        if (*real, part) in tree.values:
            real = (*real, part)
    return real


def _written_definitions(data: dict[str, Any]) -> dict[str, str]:
    written = data.get("define")
    if not isinstance(written, dict):
        return {}
    texts = {name: text for name, text in written.items() if isinstance(text, str)}
    return dict(islice(texts.items(), MAX_DEFINITIONS))


def _decoded(content: bytes, name: str) -> str:
    if len(content) > MAX_BYTES:
        raise InputError(f"{name}: larger than 1 MiB; a sheet of 500 items needs a tenth of that")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError(
            f"{name}:{line}: not UTF-8 text; save the sheet as plain text in UTF-8"
        ) from None


def _refuse_hopeless(text: str, name: str) -> None:
    if len(text.encode("utf-8", "surrogatepass")) > MAX_BYTES:
        raise _error(name, [(Mark(1, 1), "larger than 1 MiB; split it into several sheets")])
    if not text.strip():
        raise _error(name, [(Mark(1, 1), "the sheet is empty; start with `voxlog-sheet: 1`")])


def _error(name: str, faults: list[tuple[Mark, str]]) -> SheetError:
    return SheetError(
        Problem(name, mark.line, mark.column, _on_one_line(text)) for mark, text in faults
    )


def _on_one_line(text: str) -> str:
    """A message may quote the sheet, and the sheet may hold line breaks and control characters."""
    return "".join(character if character.isprintable() else " " for character in text)
