"""pydantic's errors in words that the writer of a sheet can act on."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from voxlog.sheet.marks import Loc
from voxlog.sheet.model import (
    AskByVoice,
    Callout,
    Cue,
    Decompression,
    Elapsed,
    Item,
    Phase,
    Rate,
    Reading,
    Sheet,
    ValueSpec,
    Words,
)
from voxlog.sheet.problem import nearest
from voxlog.sheet.site_rule import ExposureRule

__all__ = ["complaint"]

_PARTS: Final[Mapping[str, type[BaseModel]]] = {
    "phases": Phase,
    "an item": Item,
    "a cue": Cue,
    "value": ValueSpec,
    "decompression": Decompression,
    "rate": Rate,
    "rules": ExposureRule,
    "callouts": Callout,
    "elapsed": Elapsed,
    "readings": Reading,
    "words": Words,
    "ask-by-voice": AskByVoice,
}

_WANTED: Final[Mapping[str, str]] = {
    "string_type": "should be text; put it in quotes",
    "float_type": "should be a number; write it in digits, without quotes or unit",
    "int_type": "should be a whole number; write it in digits, without quotes",
    "bool_type": "should be true or false",
    "finite_number": "should be an ordinary number; write it in digits",
    "tuple_type": "should be a list; write `[one, two]` or lines starting with `- `",
    "dict_type": "should be `key: value` pairs; indent them under this key",
    "model_type": "should be `key: value` pairs; indent them under this key",
    "model_attributes_type": "should be `key: value` pairs; indent them under this key",
    "string_too_short": "should not be empty; write some text",
}


def complaint(details: ErrorDetails, whole: type[BaseModel] = Sheet) -> str:
    """What is wrong and what would be right, in one line. whole: what the file should be."""
    kind, loc = details["type"], details["loc"]
    if kind == "extra_forbidden":
        return _unknown_key(loc, whole)
    special = _SPECIAL.get(kind)
    if special:
        return special(details)
    if kind in ("sheet", "phrases"):
        return _with_subject(details["msg"], loc)
    wanted = _WANTED.get(kind) or _bounds(details)
    return f"`{_last_key(loc)}` {wanted}"


def _with_subject(message: str, loc: Loc) -> str:
    """A fault that starts with its verb is about the field it stands at."""
    return f"`{_last_key(loc)}` {message}" if message.startswith(("should", "has")) else message


def _bounds(details: ErrorDetails) -> str:
    message = details["msg"]
    lowered = message[:1].lower() + message[1:]
    return f"{lowered.removeprefix('input ')}; correct it"


def _missing(details: ErrorDetails) -> str:
    return f"`{_last_key(details['loc'])}` is missing; add it here"


def _unknown_version(details: ErrorDetails) -> str:
    key = _last_key(details["loc"])
    return f"`{key}` has a version that is not known here; write `{key}: 1`"


def _unknown_key(loc: Loc, whole: type[BaseModel]) -> str:
    key = _last_key(loc)
    known = _known_keys(loc, whole)
    near = nearest(key, known)
    if near:
        return f"unknown key `{key}`; did you mean `{near}`?"
    return f"unknown key `{key}`; known here: {', '.join(known)}"


def _bad_name(details: ErrorDetails) -> str:
    key, shown = _last_key(details["loc"]), f"{details['input']!s:.40}"
    if key == "unit":
        return f"`{shown}` is not a unit; write up to 12 characters without spaces, like psi"
    return (
        f"`{shown}` is not a name; use small letters, digits and hyphens, "
        "starting with a letter, 40 at most"
    )


_SPECIAL: Final[Mapping[str, Callable[[ErrorDetails], str]]] = {
    "missing": _missing,
    "literal_error": _unknown_version,
    "string_pattern_mismatch": _bad_name,
}


def _last_key(loc: Loc) -> str:
    """The innermost key in a loc, for "`steps`" rather than "`3`"."""
    keys = [part for part in loc if isinstance(part, str) and part != "[key]"]
    return keys[-1] if keys else "sheet"


def _known_keys(loc: Loc, whole: type[BaseModel]) -> list[str]:
    """The keys allowed in the part that holds `loc`."""
    names: list[Any] = [part for part in loc[:-1] if part in _PARTS]
    part = _PARTS[names[-1]] if names else whole
    return [info.alias or name for name, info in part.model_fields.items()]
