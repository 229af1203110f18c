"""Read a run sheet or a site file. The only part of `voxlog.sheet` that touches a file.

Everything wrong with a sheet is found in one reading and reported together, each with its line
and column, what is wrong and what would be right.
"""

from itertools import islice
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from voxlog.errors import InputError
from voxlog.sheet.complaint import complaint
from voxlog.sheet.marks import Loc, Mark
from voxlog.sheet.model import MAX_DEFINITIONS, Sheet
from voxlog.sheet.notation import expand_definitions
from voxlog.sheet.problem import Problem, SheetError
from voxlog.sheet.rules import Breach, breaches
from voxlog.sheet.site import Site
from voxlog.sheet.tree import Tree, read_tree

__all__ = ["MAX_BYTES", "is_site", "load_sheet", "load_site", "read_sheet", "read_site"]

MAX_BYTES: Final = 1 << 20
SHEET: Final = "voxlog-sheet"
SITE: Final = "voxlog-site"


def load_sheet(path: str | Path) -> Sheet:
    """Read the sheet in a file; SheetError for a bad sheet, InputError for a bad file."""
    return read_sheet(_text_in(path), str(path))


def load_site(path: str | Path) -> Site:
    """Read a site file; SheetError for a bad one, InputError for a file that cannot be read."""
    return read_site(_text_in(path), str(path))


def is_site(path: str | Path) -> bool:
    """Whether a file means to be a site file and not a sheet; InputError if it cannot be read."""
    data = read_tree(_text_in(path)).data
    return isinstance(data, dict) and SITE in data


def read_sheet(text: str, name: str = "sheet") -> Sheet:
    """Read a sheet from its YAML text; `name` stands in messages where a file's name would.

    Raises SheetError for any text that is not a right sheet, and no other exception.
    """
    tree = _whole_tree(text, name, SHEET)
    definitions, definition_faults = expand_definitions(_written_definitions(tree.data))
    faults = list(tree.faults)
    faults += [(tree.mark(("define", key)), text) for key, text in definition_faults.items()]
    faults += [_breach_fault(breach, tree) for breach in breaches(tree.data)]
    sheet = None
    try:
        sheet = Sheet.model_validate(tree.data, context={"definitions": definitions})
    except ValidationError as error:
        faults += _all_faults(error, tree, Sheet)
    if faults or sheet is None:
        raise _error(name, faults)
    return sheet.with_marks(name, tree.values)


def read_site(text: str, name: str = "site file") -> Site:
    """The same for a site file."""
    tree = _whole_tree(text, name, SITE)
    faults = list(tree.faults)
    site = None
    try:
        site = Site.model_validate(tree.data)
    except ValidationError as error:
        faults += _all_faults(error, tree, Site)
    if faults or site is None:
        raise _error(name, faults)
    return site.with_marks(name, tree.values)


def _whole_tree(text: str, name: str, first_key: str) -> Tree:
    """The tree of a text that is pairs of keys and values; SheetError for any other."""
    kind = "site file" if first_key == SITE else "sheet"
    start = f"start with `{first_key}: 1`"
    if len(text.encode("utf-8", "surrogatepass")) > MAX_BYTES:
        raise _error(name, [(Mark(1, 1), "larger than 1 MiB; split it into several")])
    if not text.strip():
        raise _error(name, [(Mark(1, 1), f"the {kind} is empty; {start}")])
    tree = read_tree(text)
    if not tree.is_whole:
        raise _error(name, tree.faults)
    if not isinstance(tree.data, dict):
        raise _error(name, [(Mark(1, 1), f"not a {kind}; {start}")])
    return tree


def _all_faults(
    error: ValidationError, tree: Tree, whole: type[BaseModel]
) -> list[tuple[Mark, str]]:
    """All that pydantic found, in words and with places."""
    found: list[tuple[Mark, str]] = []
    for details in error.errors(include_url=False):
        found += _faults(details, tree, whole)
    return found


def _breach_fault(breach: Breach, tree: Tree) -> tuple[Mark, str]:
    where = "" if breach.other is None else f" on line {tree.mark(breach.other).line}"
    return tree.mark(breach.loc), f"{breach.what}{where}; {breach.cure}"


def _faults(details: ErrorDetails, tree: Tree, whole: type[BaseModel]) -> list[tuple[Mark, str]]:
    """Translate one pydantic error; a list of phrases may hold several."""
    loc = _real_loc(details["loc"], tree)
    if details["type"] == "extra_forbidden":
        return [(tree.keys.get(loc, tree.mark(loc)), complaint(details, whole))]
    inner: dict[int, str] | None = details.get("ctx", {}).get("faults")
    if inner:
        return [(tree.mark((*loc, index)), text) for index, text in inner.items()]
    return [(tree.mark(loc), complaint(details, whole))]


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


def _text_in(path: str | Path) -> str:
    """A file's text; InputError if it cannot be read or is none."""
    try:
        with Path(path).open("rb") as file:
            content = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"{path}: {reason.lower()}; name a readable sheet file") from None
    if len(content) > MAX_BYTES:
        raise InputError(f"{path}: larger than 1 MiB; a sheet of 500 items needs a tenth of that")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError(
            f"{path}:{line}: not UTF-8 text; save the sheet as plain text in UTF-8"
        ) from None


def _error(name: str, faults: list[tuple[Mark, str]]) -> SheetError:
    return SheetError(
        Problem(name, mark.line, mark.column, _on_one_line(text)) for mark, text in faults
    )


def _on_one_line(text: str) -> str:
    """A message may quote the sheet, and the sheet may hold line breaks and control characters."""
    return "".join(character if character.isprintable() else " " for character in text)
