"""Text of the log -> text as a crew would say it: item one four, two five thousand feet. Pure.

A synthesiser reads "14" as fourteen and "25,000 ft" in its own way; on an intercom item numbers are
said digit by digit and altitudes in thousands (numbers.say has the sources).
"""

import re
from typing import Final

from voxlog.numbers.quantity import Quantity
from voxlog.numbers.say import spoken_forms
from voxlog.numbers.vocabulary import DIGITS

__all__ = ["speakable"]

_UNITS: Final[dict[str, tuple[Quantity, str]]] = {
    "ft": ("altitude", "feet"),
    "%": ("number", "percent"),
    "s": ("number", "seconds"),
    "min": ("number", "minutes"),
    "h": ("number", "hours"),
    "m": ("number", "metres"),
    "psi": ("number", "P S I"),
    "bar": ("number", "bar"),
    "mbar": ("number", "millibars"),
    "hPa": ("number", "hectopascals"),
    "kPa": ("number", "kilopascals"),
    "mmHg": ("number", "millimetres of mercury"),
    "bpm": ("number", "beats per minute"),
    "l/min": ("number", "litres per minute"),
    "°C": ("number", "degrees"),
    "ft/min": ("number", "feet per minute"),
}
_ITEM = re.compile(r"\bitem (\d+)\b", re.IGNORECASE)
_VALUE = re.compile(
    r"(?<![\w.])(?P<sign>[-\u2212])?(?P<number>\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?)"
    rf"(?: ?(?P<unit>{'|'.join(sorted(map(re.escape, _UNITS), key=len, reverse=True))})(?!\w))?"
    r"(?!\w)"
)


def speakable(text: str) -> str:
    """The text with its numbers and units in words; the rest, and all punctuation, as it was.

    >>> speakable("open: item 14, visor")
    'open: item one four, visor'
    >>> speakable("at 25,000 ft for 4 minutes")
    'at two five thousand feet for four minutes'
    """
    with_items = _ITEM.sub(lambda found: f"item {_digits(found[1])}", text)
    return _VALUE.sub(_value_in_words, with_items)


def _digits(figures: str) -> str:
    return " ".join(DIGITS[int(figure)] for figure in figures)


def _value_in_words(found: re.Match[str]) -> str:
    figures = found["number"].replace(",", "")
    quantity, unit = _UNITS.get(found["unit"] or "", ("number", ""))
    value = -float(figures) if found["sign"] else float(figures)
    try:
        words = spoken_forms(value, quantity)[0]
    except ValueError:  # too large to be said as a number, or an altitude below zero
        words = ("minus " if found["sign"] else "") + " point ".join(
            _digits(part) for part in figures.split(".")
        )
    return words if not unit or words.endswith(f" {unit}") else f"{words} {unit}"
