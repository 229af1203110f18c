"""The kinds of fields a sheet has: phrases, names, numbers, seconds.

A phrase field takes a phrase or a list of phrases in the notation of `voxlog.sheet.notation` and
holds the plain texts they stand for. The definitions for ``<name>`` come in pydantic's
validation context, under "definitions".
"""

from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, ValidationInfo
from pydantic_core import PydanticCustomError

from voxlog.sheet.notation import NotationError, expand

__all__ = [
    "BreathingGas",
    "Gas",
    "Gate",
    "Id",
    "ItemNumber",
    "Number",
    "Plain",
    "Positive",
    "Seconds",
    "SomePlain",
    "Text",
    "Unit",
    "WithItem",
    "WithValue",
    "fault",
]


def fault(message: str) -> PydanticCustomError:
    """A fault in a field, in words for the writer of the sheet: what is wrong; what to do."""
    return PydanticCustomError("sheet", "{message}", {"message": message})


def _expand_all(phrases: object, info: ValidationInfo) -> tuple[str, ...]:
    """Expand a phrase or a list of phrases; all faulty ones are reported together."""
    written = [phrases] if isinstance(phrases, str) else phrases
    if not isinstance(written, list | tuple):
        raise fault("should be a phrase or a list of phrases; write the words that are said")
    definitions = (info.context or {}).get("definitions")
    texts: list[str] = []
    faults: dict[int, str] = {}
    for index, phrase in enumerate(written):
        if not isinstance(phrase, str):
            faults[index] = f"{phrase!r:.40} is not a phrase; write it as words, in quotes"
            continue
        try:
            texts += expand(phrase, definitions)
        except NotationError as error:
            faults[index] = str(error)
    if faults:
        single = isinstance(phrases, str)
        raise PydanticCustomError(
            "phrases",
            "{message}",
            {"message": next(iter(faults.values())), "faults": None if single else faults},
        )
    return tuple(dict.fromkeys(texts))


def _some(texts: tuple[str, ...]) -> tuple[str, ...]:
    if not texts:
        raise fault("should not be empty; write the words that are said")
    return texts


def _slots_in(text: str) -> list[str]:
    return [word for word in text.split() if word.startswith("{")]


def _without_slot(texts: tuple[str, ...]) -> tuple[str, ...]:
    for text in texts:
        if _slots_in(text):
            raise fault(f"`{text}` has a slot, but nothing here fills it; write words only")
    return texts


def _with_value(texts: tuple[str, ...]) -> tuple[str, ...]:
    for text in texts:
        if _slots_in(text) != ["{value}"]:
            raise fault(f"`{text}` needs {{value}} once, where the number is said")
    return texts


def _with_item(texts: tuple[str, ...]) -> tuple[str, ...]:
    for text in texts:
        if _slots_in(text) != ["{item}"]:
            raise fault(f"`{text}` needs {{item}} once, where the item's number is said")
    return texts


def _printable(text: str) -> str:
    if not text.isprintable():
        raise fault("has a line break or a control character; write it on one line")
    return text


_Expanded = BeforeValidator(_expand_all, json_schema_input_type=str | list[str])
Plain = Annotated[tuple[str, ...], _Expanded, AfterValidator(_without_slot)]
SomePlain = Annotated[Plain, AfterValidator(_some)]
WithValue = Annotated[
    tuple[str, ...], _Expanded, AfterValidator(_with_value), AfterValidator(_some)
]
WithItem = Annotated[tuple[str, ...], _Expanded, AfterValidator(_with_item)]

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9-]{0,39}$")]
Text = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=300),
    AfterValidator(_printable),
]
Unit = Annotated[str, StringConstraints(pattern=r"^[^\s;,\x00-\x1f\x7f]{1,12}$")]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-1e9, le=1e9)]
Positive = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0.001, le=1e9)]
Seconds = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=86_400)]
ItemNumber = Annotated[int, Field(strict=True, ge=1, le=9999)]


def _gate(written: object) -> object:
    """One fault in plain words instead of one for each way in which a gate may be written."""
    if written == "all":
        return written
    names = list(written) if isinstance(written, list | tuple) else []
    if not names or not all(_is_name_or_number(name) for name in names):
        raise fault("should be `all`, or a list of item numbers and phases like `[14, ground]`")
    return tuple(dict.fromkeys(names))


def _is_name_or_number(name: object) -> bool:
    return isinstance(name, str | int) and not isinstance(name, bool)


Gate = Annotated[
    Literal["all"] | tuple[int | str, ...],
    BeforeValidator(_gate, json_schema_input_type=Literal["all"] | list[ItemNumber | Id]),
]


def _gas(written: object) -> object:
    if written not in get_args(Gas):
        raise fault(f"should be one of {', '.join(get_args(Gas))}; write what is breathed")
    return written


Gas = Literal["air", "oxygen"]
"""What the subject breathes: the chamber's air, or oxygen by mask, hood or mouthpiece."""

BreathingGas = Annotated[Gas, BeforeValidator(_gas, json_schema_input_type=Gas)]
