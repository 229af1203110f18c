"""How a value is said in a script: any usual wording, the most usual ones more often."""

import numpy as np

from voxlog.numbers.say import spoken_forms

__all__ = ["spoken"]

_USUAL = 3  # wordings that are said four times in five
_USUAL_SHARE = 0.8


def spoken(value: float, unit: str, rng: np.random.Generator) -> str:
    """One of the wordings of a value with this unit, without the unit's own name."""
    forms = _forms(value, unit)
    few = forms[:_USUAL] if rng.random() < _USUAL_SHARE else forms
    return few[int(rng.integers(len(few)))]


def _forms(value: float, unit: str) -> tuple[str, ...]:
    if unit == "ft":
        return spoken_forms(value, "altitude")
    # Minutes answer an item as a bare number ("thirty five"), since the sheet's phrase says
    # "minutes"; only elapsed calls, in seconds, are said with their units.
    return spoken_forms(value, "duration" if unit == "s" else "number")
