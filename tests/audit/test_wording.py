"""Numbers and names as people read them."""

import math

import pytest

from voxlog.audit.wording import (
    format_count,
    format_interval,
    format_number,
    format_rate,
    group_name,
    item_name,
    pair_name,
)


@pytest.mark.parametrize(
    ("rate", "text"),
    [
        (0.0, "0.0 %"),
        (0.00001, "<0.01 %"),
        (0.0042, "0.42 %"),
        (0.01, "1.0 %"),
        (0.0834, "8.3 %"),
        (1.0, "100.0 %"),
        (math.nan, "n/a"),
    ],
)
def test_rates(rate: float, text: str) -> None:
    assert format_rate(rate) == text


def test_intervals_and_numbers() -> None:
    assert format_interval(0.0767, 0.0903) == "7.7 to 9.0"
    assert format_interval(0.0012, 0.0048) == "0.12 to 0.48"
    assert format_interval(math.nan, 1) == ""
    assert format_count(896400.0) == "896,400"
    assert [format_number(value) for value in (1623.6, -60.235, 0.3411, math.nan)] == [
        *("1,624", "-60.2", "0.341", "n/a"),
    ]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        (item_name("heron", "12", one_sheet=True), "item 12"),
        (item_name("heron", "12", one_sheet=False), "heron, item 12"),
        (item_name("heron", "saturation", one_sheet=True), "saturation"),
        (pair_name("heron", "40", "41", one_sheet=True), "items 40 and 41"),
        (pair_name("heron", "40", "cue", one_sheet=False), "heron, item 40 and cue"),
        (group_name(("heron", "3"), one_sheet=True, by="item"), "item 3"),
        (group_name(("heron", "operator"), one_sheet=False, by="position"), "heron, operator"),
        (group_name(("C-12",), one_sheet=False, by="crew"), "C-12"),
    ],
)
def test_names(name: str, expected: str) -> None:
    assert name == expected
