"""Warnings: allowed, but likely to disappoint."""

import pytest

from voxlog.sheet.check import warnings
from voxlog.sheet.load import read_sheet


def test_the_small_sheet_gives_no_warning(small_sheet: str) -> None:
    assert warnings(read_sheet(small_sheet)) == ()


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        ("ask: outer door", "ask: inner door", 29, "also opens item 4 on line 28; only the order"),
        ("ask: outer door", 'ask: "[please] supply pressure"', 29, "also opens item 2 on line 24"),
        ("deny: ajar", "deny: the door is shut", 28, "differs from the confirming `door shut`"),
        ("deny: ajar", "deny: door shut on", 28, "only in words that are easily lost"),
        ("deny: ajar", "deny: 'no'", 28, "`no` is one short word, easily misheard"),
        ("ask: colour", "ask: rip", 34, "`rip` is one short word"),
        (", deny: ajar", "", 28, "item 4 has no `deny`"),
        (', confirm: "door <shut>"', "", 28, "item 4 has neither `confirm` nor `value`"),
        ("ask: colour", "ask: lips pink", 34, "`lips pink` is also the challenge"),
    ],
)
def test_a_warning_says_where_and_why(
    small_sheet: str, old: str, new: str, line: int, message: str
) -> None:
    assert small_sheet.count(old) == 1
    found = warnings(read_sheet(small_sheet.replace(old, new), "s.yaml"))
    assert [problem.line for problem in found] == [line]
    assert str(found[0]).startswith(f"s.yaml:{line}:")
    assert message in str(found[0])


@pytest.mark.parametrize(
    ("old", "new"),
    [
        # stressed words carry a denial
        ("deny: ajar", "deny: door not shut"),
        ("deny: ajar", "deny: door off"),
        # an item that may be left out needs no denial
        (", deny: ajar", ", mandatory: false"),
    ],
)
def test_good_wording_gives_no_warning(small_sheet: str, old: str, new: str) -> None:
    assert small_sheet.count(old) == 1
    assert warnings(read_sheet(small_sheet.replace(old, new))) == ()


@pytest.mark.parametrize(
    ("call_word", "message"),
    [
        ("log", "`log` is short, so other words are taken for it; choose a longer one"),
        ("supply", "`supply` is said in this sheet otherwise too; choose a word of its own"),
        ("logbook", ""),
    ],
)
def test_a_call_word_is_long_and_said_by_nobody_else(
    small_sheet: str, call_word: str, message: str
) -> None:
    text = f"{small_sheet}ask-by-voice: {{call-word: {call_word}}}\n"
    found = [str(warning) for warning in warnings(read_sheet(text, "s.yaml"))]
    assert found == ([f"s.yaml:42:27: {message}"] if message else [])
