"""A proposal as a change of the sheet's text. Pure.

Every change is read back before it counts: the sheet that comes out must be a right one, and a
comment must leave it as it was.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from voxlog.learn.proposal import Proposal
from voxlog.learn.unit import NAMES, converted_limits
from voxlog.learn.yaml_edit import (
    Loc,
    add_phrase,
    add_remark,
    entries,
    replace_words,
    set_scalars,
)
from voxlog.log.record import format_decimal
from voxlog.sheet.check import warnings
from voxlog.sheet.load import read_sheet
from voxlog.sheet.model import Item, Sheet
from voxlog.sheet.notation import NotationError, expand
from voxlog.sheet.parts import Reading, ValueSpec
from voxlog.sheet.problem import SheetError

__all__ = ["Change", "change_of"]

_LIMITS = ("step", "min", "max", "low", "high")


@dataclass(frozen=True, slots=True)
class Change:
    """The sheet's text after a proposal, and what is done in words.

    text: None where it cannot be done; then `what` says why. warnings: what `voxlog sheet check`
    says of the changed sheet and did not say before.
    """

    text: str | None
    what: str
    warnings: tuple[str, ...] = ()


def change_of(text: str, proposal: Proposal) -> Change:
    """Put one proposal into the sheet's text."""
    before = read_sheet(text)
    makers = {"response": _response, "misheard": _misheard, "unit": _unit}
    changed, what, is_remark = makers[proposal.kind](text, before, proposal)
    if changed == text:
        return Change(None, f"{what}: the sheet says so already")
    try:
        after = read_sheet(changed)
    except SheetError as error:
        return Change(None, f"{what}: cannot be put into the sheet ({error.problems[0].message})")
    if is_remark and after.model_dump() != before.model_dump():
        return Change(None, f"{what}: no place for a comment there")
    told = {problem.message for problem in warnings(before)}
    new = (problem.message for problem in warnings(after))
    return Change(changed, what, tuple(message for message in new if message not in told))


_Made = tuple[str, str, bool]


def _response(text: str, sheet: Sheet, proposal: Proposal) -> _Made:
    loc, item = _item_place(sheet, proposal.step)
    ask = f"item {item.number}, {item.ask[0]}"
    what = f'{ask}: add "{proposal.phrase}" to `{proposal.act}`'
    return add_phrase(text, loc, proposal.act, proposal.phrase), what, False


def _misheard(text: str, sheet: Sheet, proposal: Proposal) -> _Made:
    loc, item = _item_place(sheet, proposal.step)
    remark = f'"{proposal.phrase}" was heard where it was not said; find other words'
    if not proposal.phrase:
        remark = "an answer was given and not heard; find other words"
    what = f"item {item.number}, {item.ask[0]}: {remark}"
    return add_remark(text, _phrase_place(text, loc, proposal), remark), what, True


def _unit(text: str, sheet: Sheet, proposal: Proposal) -> _Made:
    places = list(_unit_places(sheet, proposal.act, proposal.step))
    loc, part = places[0]
    name = f"item {proposal.step}" if proposal.act == "item" else proposal.step
    numbers = None
    if part is not None and len(places) == 1:
        limits = {key: getattr(part, key) for key in _LIMITS if getattr(part, key) is not None}
        numbers = converted_limits(limits, part.unit, proposal.unit)
    if part is None or numbers is None:
        remark = f"always spoken in {proposal.unit}; change unit and limits"
        return add_remark(text, loc, remark), f"{name}: {remark}", True
    was = _spelled(limits)
    text = replace_words(text, (*loc, "say"), NAMES[part.unit], NAMES[proposal.unit][0])
    written = {key: format_decimal(value) for key, value in numbers.items()}
    changed = set_scalars(text, loc, {"unit": proposal.unit, **written})
    remark = f"converted from {part.unit}: {was}"
    what = f"{name}: from {part.unit} to {proposal.unit}, {_spelled(numbers)} ({was})"
    return add_remark(changed, loc, remark), what, False


def _spelled(numbers: Mapping[str, float]) -> str:
    return ", ".join(f"{key} {format_decimal(value)}" for key, value in numbers.items())


def _item_place(sheet: Sheet, step: str) -> tuple[Loc, Item]:
    for p, phase in enumerate(sheet.phases):
        for s, item in enumerate(phase.steps):
            if isinstance(item, Item) and item.key == step:
                return ("phases", p, "steps", s), item
    raise AssertionError(step)


def _phrase_place(text: str, loc: Loc, proposal: Proposal) -> Loc:
    """Where the misheard phrase stands, or else its list, or else its item."""
    listed = (*loc, proposal.act)
    written = entries(text, listed)
    if written is None:
        return loc
    stands = [index for index, entry in enumerate(written) if _says(entry, proposal.phrase)]
    return (*listed, stands[0]) if stands and len(written) > 1 else listed


def _says(written: str, phrase: str) -> bool:
    """Whether a phrase is one of those that an entry stands for, by itself."""
    try:
        return phrase in expand(written)
    except NotationError:
        return False


def _unit_places(
    sheet: Sheet, kind: str, step: str
) -> Iterator[tuple[Loc, ValueSpec | Reading | None]]:
    """Where the unit is given; None for a callout."""
    if kind == "item":
        loc, item = _item_place(sheet, step)
        yield (*loc, "value"), item.value
        return
    for index, reading in enumerate(sheet.readings):
        if kind == "reading" and reading.id == step:
            yield ("readings", index), reading
    for p, phase in enumerate(sheet.phases):
        for index, reading in enumerate(phase.readings):
            if kind == "reading" and reading.id == step:
                yield ("phases", p, "readings", index), reading
        for index, callout in enumerate(phase.callouts):
            if kind == "callout" and callout.id == step:
                yield ("phases", p, "callouts", index), None
