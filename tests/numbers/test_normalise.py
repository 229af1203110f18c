"""The text normaliser."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.numbers.normalise import normalise


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", ""),
        (" \n\t", ""),
        ("?!…", ""),
        ("Oxygen Mask: ON.", "oxygen mask on"),
        ("read-back", "read back"),
        ("Don't", "dont"),
        ("don’t", "dont"),
        ("Café, naïve", "cafe naive"),
        # numbers keep what belongs to them
        ("25,000 feet", "25000 feet"),
        ("1,234,567", "1234567"),
        ("91,92", "91 92"),
        ("1,8000", "1 8000"),
        ("1-8,000", "1 8000"),
        ("saturation is 91.", "saturation is 91"),
        ("5.5 psi", "5.5 psi"),
        ("about .5", "about 0.5"),
        ("at 1:30", "at 1:30"),
        ("-5 degrees", "minus 5 degrees"),
        ("5-5", "5 5"),
        # signs become their words, units written on to a number split off
        ("91%", "91 percent"),
        ("1+30", "1 plus 30"),
        ("2½ min", "2 and a half min"),
        ("120/80", "120 over 80"),
        ("FL250", "fl 250"),
        ("25ft", "25 ft"),
        ("2nd", "2nd"),
        ("SpO2", "spo2"),
        # other scripts: decimal digits are digits, superscripts are not
        ("２５", "25"),
        ("٩١", "91"),
        ("10²", "10 ²"),
    ],
)
def test_table(text: str, expected: str) -> None:
    assert normalise(text) == expected


@given(st.text())
def test_normalising_again_changes_nothing(text: str) -> None:
    once = normalise(text)
    assert normalise(once) == once


@given(st.text())
def test_words_are_lower_case_and_parted_by_single_spaces(text: str) -> None:
    words = normalise(text)
    assert words == " ".join(words.split())
    assert words == words.lower()
