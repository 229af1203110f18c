"""Gates: what must be closed before a step is begun."""

from voxlog.sheet.fields import Gate
from voxlog.sheet.model import Item, Sheet

__all__ = ["gated_items", "has_gate"]


def has_gate(sheet: Sheet, place: int) -> bool:
    """Whether the step at this place of ``sheet.steps``, or the phase that it may open, is one."""
    phase, step = sheet.steps[place]
    return step.gate is not None or phase.gate is not None


def gated_items(sheet: Sheet, place: int, *, opens_phase: bool = False) -> tuple[Item, ...]:
    """The items that must be closed before the step at ``place``, in the order of the sheet.

    opens_phase: nothing of the step's phase was done yet, so that the phase's gate counts too.
    A gate of `all`, or one that names a phase, means the mandatory items that stand before the
    step (of that phase); an item that a gate names by its number is meant though it be optional.
    """
    phase, step = sheet.steps[place]
    of_phase = phase.gate if opens_phase else None
    return tuple(
        item
        for where, item in sheet.steps[:place]
        if isinstance(item, Item)
        and (
            _wants(step.gate, item, where.id)
            or (where is not phase and _wants(of_phase, item, where.id))
        )
    )


def _wants(gate: Gate | None, item: Item, phase: str) -> bool:
    if gate is None:
        return False
    if gate == "all":
        return item.mandatory
    return item.number in gate or (item.mandatory and phase in gate)
