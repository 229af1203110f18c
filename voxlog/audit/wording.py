"""Names and numbers of an audit as people read them."""

import math

from voxlog.audit.rows import MEASURES

__all__ = [
    "LABELS",
    "NOTHING",
    "PERIODS",
    "format_count",
    "format_interval",
    "format_number",
    "format_rate",
    "group_name",
    "item_name",
    "p_range",
    "pair_name",
]

LABELS = {measure.name: measure.label for measure in MEASURES}
NOTHING = "n/a"
PERIODS = {"month": "months", "quarter": "quarters", "half-year": "half-years", "year": "years"}


def item_name(sheet: str, item: str, *, one_sheet: bool) -> str:
    """An item is known by its number, and by its sheet where there are several."""
    name = f"item {item}" if item.isdecimal() else item
    return name if one_sheet else f"{sheet}, {name}"


def pair_name(sheet: str, first: str, second: str, *, one_sheet: bool) -> str:
    if first.isdecimal() and second.isdecimal():
        names = f"items {first} and {second}"
    else:
        names = (
            f"{item_name('', first, one_sheet=True)} and {item_name('', second, one_sheet=True)}"
        )
    return names if one_sheet else f"{sheet}, {names}"


def group_name(keys: tuple[str, ...], *, one_sheet: bool, by: str) -> str:
    """A group of the rates; keys: its columns, the sheet first where it has one."""
    if by == "item":
        return item_name(keys[0], keys[1], one_sheet=one_sheet)
    if by == "position":
        return keys[1] if one_sheet else f"{keys[0]}, {keys[1]}"
    return keys[0]


def format_rate(rate: float) -> str:
    """Percent with one decimal, two below 1 %, and never 0 for what is not nothing."""
    if math.isnan(rate):
        return NOTHING
    percent = rate * 100
    if 0 < percent < 0.005:
        return "<0.01 %"
    return f"{percent:.2f} %" if 0 < percent < 1 else f"{percent:.1f} %"


def format_interval(low: float, high: float) -> str:
    if math.isnan(low) or math.isnan(high):
        return ""
    decimals = 2 if high < 0.01 else 1
    return f"{low * 100:.{decimals}f} to {high * 100:.{decimals}f}"


def format_count(number: float) -> str:
    return NOTHING if math.isnan(number) else f"{number:,.0f}"


def format_number(value: float) -> str:
    """Three significant digits, or whole from 100 on: 1,623; 60.2; 0.34."""
    if math.isnan(value):
        return NOTHING
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"


def p_range(low: float, high: float) -> str:
    return f"{low:g} to {high:g}"
