"""Spoken numbers to values, against published examples, libraries and our own wordings."""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words
from text2digits.text2digits import Text2Digits

from voxlog.numbers.normalise import normalise
from voxlog.numbers.parse import Quantity, find_values, parse_value, readings
from voxlog.numbers.say import spoken_forms


def values_in(text: str) -> list[float]:
    return [found.value for found in find_values(text)]


# --- published examples ------------------------------------------------------------------------

# ICAO Annex 10 Volume II, 5.2.1.4.1: all digits one by one, but whole hundreds and thousands of an
# altitude with "hundred" and "thousand"; 5.2.1.4.3.1 for the pronounced digits. The rows marked M
# are from memory of the annex's tables, unverified; the others stand as quoted at
# https://flightcrewguide.com/wiki/communications/07-transmission-numbers-radiotelephony/
ANNEX_10 = [
    ("one two thousand", "altitude", 12000),
    ("three thousand four hundred", "altitude", 3400),
    ("flight level two zero zero", "altitude", 20000),
    ("flight level one eight zero", "altitude", 18000),  # M
    ("one one niner decimal one", "number", 119.1),  # M, a frequency
    ("one zero zero", "number", 100),  # M, a heading
    ("one zero one three", "number", 1013),  # M, an altimeter setting
    ("zero niner two zero", "clock", 9 * 3600 + 20 * 60),  # M
    ("one six four three", "clock", 16 * 3600 + 43 * 60),  # M
]

# FAA Aeronautical Information Manual 4-2-8 (figures), 4-2-9 (altitudes and flight levels), as
# stored at http://faraim.org/faa/aim/198/pdf.txt and https://www.faraim.org/faa/aim/209/pdf.txt.
AIM_4_2_8_AND_9 = [
    ("five hundred", "altitude", 500),
    ("four thousand five hundred", "altitude", 4500),
    ("one zero thousand", "altitude", 10000),
    ("one three thousand five hundred", "altitude", 13500),
    ("one zero", "number", 10),
    ("flight level one niner zero", "altitude", 19000),
    ("flight level two seven five", "altitude", 27500),
]

# FAA AIM 4-2-12 (time), as quoted by US Navy P-305 at https://navyflightmanuals.tpub.com/P-305/
AIM_4_2_12 = [
    ("zero niner two zero", "clock", 9 * 3600 + 20 * 60),
    ("one five three zero", "clock", 15 * 3600 + 30 * 60),
    ("zero niner two zero zulu", "clock", 9 * 3600 + 20 * 60),
]

# French and UK practice: https://online.aeps.aero/courses/reading-you-five-vfr (transmission of
# numbers).
NATIONAL = [("flight level two hundred", "altitude", 20000)]

# Radiotelephony as recognisers spell it: digits of ICAO Annex 10 Volume II 5.2.1.4.3.1 at
# https://icao4u.com/aviation-pronunciation-guide-numbers-letters; the sentences are our own.
PRONOUNCED = [
    ("tree fife tousand", "altitude", 35000),
    ("one two thousand fife hundred", "altitude", 12500),
    ("flight level tree fower zero", "altitude", 34000),
    ("niner ait percent", "number", 98),
    ("wun too tree", "number", 123),
]


@pytest.mark.parametrize(
    ("text", "quantity", "value"), ANNEX_10 + AIM_4_2_8_AND_9 + AIM_4_2_12 + NATIONAL + PRONOUNCED
)
def test_published_examples(text: str, quantity: Quantity, value: float) -> None:
    assert parse_value(text, quantity) == value


# --- whole phrases -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "feet"),
    [
        ("two five thousand", 25000),
        ("twenty-five thousand", 25000),
        ("flight level two five zero", 25000),
        ("FL250", 25000),
        ("flight level 2 50", 25000),
        ("flight level 25-0", 25000),
        ("flight level zero five zero", 5000),
        ("flight level two fifty", 25000),
        ("angels two five", 25000),
        ("angels twenty five", 25000),
        ("angels 25", 25000),
        ("angels one five decimal five", 15500),
        ("ten thousand", 10000),
        ("one oh thousand", 10000),
        ("one two thousand five hundred", 12500),
        ("fifteen hundred", 1500),
        ("twenty five hundred", 2500),
        ("twenty five five hundred", 25500),
        ("eighteen five hundred feet", 18500),
        ("two point five thousand", 2500),
        ("a thousand feet", 1000),
        ("two five zero feet", 250),
        ("25,000 ft", 25000),
        ("25k", 25000),
        ("zero", 0),
        # not one altitude
        ("two five", None),  # 25 or 25,000
        ("two five zero", None),  # 250 or 25,000
        ("250", None),
        ("two fifty", None),
        ("flight level two five", None),
        ("flight level two five thousand", None),
        ("flight level five", None),
        ("angels two five zero", None),
        ("five two five thousand", None),
        ("two five five hundred", None),
        ("5.5", None),
        ("25.000", None),
        ("minus two thousand", None),
        ("two thousand metres", None),
        ("passing two thousand", None),
        ("negative", None),
        ("thousand", None),
        ("", None),
    ],
)
def test_altitudes(text: str, feet: float | None) -> None:
    assert parse_value(text, "altitude") == feet


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("one minute thirty", 90),
        ("one minute thirty seconds", 90),
        ("one minute and thirty seconds", 90),
        ("one minute three zero", 90),
        ("a minute thirty", 90),
        ("one thirty", 90),
        ("time one thirty", 90),
        ("1:30", 90),
        ("1 30", 90),
        ("one plus thirty", 90),
        ("1+30", 90),
        ("a minute and a half", 90),
        ("one and a half minutes", 90),
        ("1½ minutes", 90),
        ("one point five minutes", 90),
        ("ninety seconds", 90),
        ("niner zero seconds", 90),
        ("ninety", 90),
        ("two minutes", 120),
        ("two minutes oh five", 125),
        ("two oh five", 125),
        ("a hundred and twenty seconds", 120),
        ("half a minute", 30),
        ("thirty", 30),
        ("three zero", 30),
        ("one hour", 3600),
        ("one hour and five minutes", 3900),
        ("an hour and a half", 5400),
        ("1:02:03", 3723),
        # not one duration
        ("two", None),  # minutes or seconds
        ("one zero five", None),  # 1:05 or 105 seconds
        ("130", None),  # a recogniser's "one thirty", or 130 seconds
        ("one three zero", None),
        ("one minute ninety", None),
        ("1:75", None),
        ("one ninety", None),
        ("two five", 25),
        ("minus ten seconds", None),
        ("five point five", None),
    ],
)
def test_durations(text: str, seconds: float | None) -> None:
    assert parse_value(text, "duration") == seconds


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("zero niner four five", "09:45"),
        ("time zero nine four five", "09:45"),
        ("0945", "09:45"),
        ("09:45", "09:45"),
        ("9:45", "09:45"),
        ("nine forty five", "09:45"),
        ("oh nine forty five", "09:45"),
        ("one five three zero local", "15:30"),
        ("fifteen thirty", "15:30"),
        ("fifteen hundred hours", "15:00"),
        ("zero nine hundred", "09:00"),
        ("twenty oh five", "20:05"),
        ("zero zero zero zero", "00:00"),
        # no time of day
        ("two four six zero", None),
        ("two five zero zero", None),
        ("nine four five", None),
        ("two thousand", None),
        ("four five", None),  # minutes only: the hour is not said
        ("09:60", None),
    ],
)
def test_clock_times(text: str, clock: str | None) -> None:
    seconds = int(clock[:2]) * 3600 + int(clock[3:]) * 60 if clock else None
    assert parse_value(text, "clock") == seconds


def test_clock_times_with_seconds() -> None:
    assert parse_value("zero nine four five three zero", "clock") == 35130
    assert parse_value("09:45:30", "clock") == 35130


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("nine eight", 98),
        ("ninety eight", 98),
        ("98%", 98),
        ("nine eight percent", 98),
        ("a hundred and four", 104),
        ("one hundred four", 104),
        ("one oh two", 102),
        ("one o two", 102),
        ("one thirty", 130),
        ("eighteen fifty", 1850),
        ("one eight five zero", 1850),
        ("one thousand fifty", 1050),
        ("two thousand and five", 2005),
        ("nineteen oh five", 1905),
        ("twenty fifty", 2050),
        ("five decimal five", 5.5),
        ("five point five", 5.5),
        ("5.5", 5.5),
        ("5 point 25", 5.25),
        ("two point oh five", 2.05),
        ("one two one decimal five", 121.5),
        ("point five", 0.5),
        ("two and a half", 2.5),
        ("minus five", -5),
        ("zero", 0),
        ("007", 7),
        # not one number
        ("negative five", None),
        ("ten thousand fifty", None),  # or ten thousand, and a reading of fifty
        ("fifty twelve hundred", None),
        ("five and ninety", None),
        ("twenty ten five", None),
        ("two million", None),
        ("two thirds", None),
        ("one decimal two decimal three", None),
        ("1.2.3", None),
        ("1" * 5000, None),
        ("one " * 5000, None),
        ("roger", None),
        ("", None),
    ],
)
def test_numbers(text: str, value: float | None) -> None:
    assert parse_value(text, "number") == value


@pytest.mark.parametrize(
    ("text", "quantity", "values"),
    [
        ("two five zero", "altitude", (250, 25000)),
        ("two five", "altitude", (25, 25000)),
        ("130", "duration", (90, 130)),
        ("two", "duration", (2, 120)),
        ("ten thousand", "altitude", (10000,)),
        ("roger", "altitude", ()),
    ],
)
def test_readings_keep_the_choice(text: str, quantity: Quantity, values: tuple[float, ...]) -> None:
    assert readings(text, quantity) == values


# --- recogniser shapes and known traps ---------------------------------------------------------


# What Whisper tiny.en and base wrote for "one eight thousand", and its like.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("passing 1-8,000 feet", 18000),
        ("passing 1,8000 feet", 18000),
        ("passing 1-8000 feet", 18000),
        ("passing 1 8000 feet", 18000),
        ("passing 1,000 feet", 1000),
        ("passing 18,000 feet", 18000),
        ("passing 1-0,000 feet", 10000),
        ("passing 1-2,500 feet", 12500),
        ("passing 2 5 thousand feet", 25000),
        ("passing 25 thousand feet", 25000),
        ("passing 25 000 feet", 25000),
        ("saturation 91%", 91),
        ("saturation 9 8", 98),
        ("saturation 9-8.", 98),
    ],
)
def test_recogniser_shapes(text: str, value: float) -> None:
    assert values_in(text) == [value]


# Ready-made libraries add these up: word2number gives 9000 for the first, 1 for the last but one.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("one eight thousand", 18000),
        ("ten thousand", 10000),
        ("one zero thousand", 10000),
        ("two five thousand", 25000),
        ("three five thousand five hundred", 35500),
        ("flight level two five zero", 25000),
        ("nine eight", 98),
        ("five decimal five", 5.5),
        ("one oh two", 102),
        ("two point five", 2.5),
        ("twenty five thousand", 25000),
        ("one niner zero", 190),
        ("heading niner zero", 90),
    ],
)
def test_digits_are_never_added_up(text: str, value: float) -> None:
    assert values_in(text) == [value]


@pytest.mark.parametrize(
    "text",
    [
        "five two five thousand",
        "twelve eighteen thousand",
        "ten thousand fifty",
        "hundred and five",  # its beginning was not heard
        "thousand five hundred",
        "at that point five thousand",  # or 0.5
        "two million five hundred thousand",
        "two thirds",
        "two and three quarters",
        "twenty first",
        "one too many",
        "version 1.2.3",
        "code 123456789012",
        "flight level two five",
        "wait a minute",
        "negative",
        "to for won ate",
        "roger wilco",
        "second",
    ],
)
def test_what_is_not_clearly_one_number_has_no_value(text: str) -> None:
    assert find_values(text) == ()


# --- numbers in a text -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (
            "Passing one zero thousand; saturation ninety-one",
            [(1, 3, 10000, "cardinal"), (5, 6, 91, "cardinal")],
        ),
        ("one zero thousand correction one eight thousand", [(0, 2, 10000), (4, 6, 18000)]),
        ("climb to FL250 now", [(2, 3, 25000, "flight-level")]),
        ("flight level two five zero", [(0, 4, 25000, "flight-level")]),
        ("angels two five", [(0, 2, 25000, "angels")]),
        ("mark one minute thirty seconds now", [(1, 4, 90, "duration")]),
        ("one minute one five thousand", [(0, 1, 60, "duration"), (2, 4, 15000, "cardinal")]),
        ("two minutes ninety one percent", [(0, 1, 120), (2, 3, 91)]),
        ("time one thirty", [(1, 2, 130, "pair")]),
        ("time zero nine four five", [(1, 4, 35100, "clock")]),
        ("zero nine four five zulu", [(0, 3, 35100, "clock")]),
        ("zero nine four five", [(0, 3, 945, "digits")]),
        ("at 09:45", [(1, 1, 35100, "clock")]),
        ("at 1:30", [(1, 1, 90, "duration")]),
        ("five by five", [(0, 0, 5), (2, 2, 5)]),
        ("item twelve and item six", [(1, 1, 12), (4, 4, 6)]),
        ("five and ninety one", [(0, 0, 5), (2, 3, 91)]),
        ("one hundred and two five thousand", [(0, 1, 100), (3, 5, 25000)]),
        ("minus five degrees", [(0, 1, -5)]),
        ("negative, five", [(1, 1, 5)]),
        ("oh, one five thousand", [(1, 3, 15000)]),
        ("two and a half litres", [(0, 3, 2.5, "decimal")]),
        ("pressure 120/80", [(1, 1, 120), (3, 3, 80)]),
        ("half a minute to go", [(0, 2, 30, "duration")]),
        ("eighteen fifty psi", [(0, 1, 1850, "pair")]),
        ("", []),
    ],
)
def test_find_values(text: str, found: list[tuple[object, ...]]) -> None:
    actual = [
        (each.first_word, each.last_word, each.value, each.form) for each in find_values(text)
    ]
    assert [row[: len(want)] for row, want in zip(actual, found, strict=True)] == found


def test_a_found_text_can_be_read_again_as_what_was_expected() -> None:
    (found,) = find_values("recorder, time one thirty")
    assert (found.text, found.value) == ("one thirty", 130)
    assert parse_value(found.text, "duration") == 90


# --- against libraries, and against ourselves --------------------------------------------------


@pytest.mark.slow
def test_num2words_from_0_to_99_999() -> None:
    """num2words as the outside oracle for ordinary cardinals ("twelve thousand, five hundred")."""
    numbers = range(100_000)
    found = find_values(" then ".join(num2words(number) for number in numbers))
    assert [each.value for each in found] == list(numbers)


# text2digits as a second opinion on the sentences it can read; it gives digits, not meanings, and
# knows no "niner" (heading niner zero), "oh" or flight levels.
@pytest.mark.parametrize(
    "text",
    [
        "passing one eight thousand feet",
        "altitude one two thousand five hundred",
        "twelve thousand five hundred",
        "three thousand four hundred",
        "twenty five thousand",
        "fifteen hundred",
        "one hundred and four",
        "one thousand eight hundred and fifty",
        "eighteen fifty",
        "one zero zero",
        "nine one",
        "five point five",
    ],
)
def test_agrees_with_text2digits(text: str) -> None:
    theirs = Text2Digits().convert(text).split()
    (ours,) = find_values(text)
    assert str(ours.value).removesuffix(".0") in theirs


@pytest.mark.parametrize("value", [98, 102, 1850, 5.5, 12500, 25000])
def test_numbers_are_found_inside_a_sentence(value: float) -> None:
    for form in spoken_forms(value, "number"):
        assert values_in(f"subject reads {form} over") == [value]


# --- any text ----------------------------------------------------------------------------------

# fmt: off
NUMBER_WORDS = [
    "one", "two", "five", "nine", "niner", "zero", "oh", "too", "ten", "fifteen", "twenty",
    "ninety", "hundred", "thousand", "point", "decimal", "and", "a", "half", "minute", "minutes",
    "seconds", "hour", "time", "plus", "minus", "flight", "level", "fl", "angels", "feet",
    "percent", "million", "third", "zulu", "5", "05", "25", "250", "25,000", "2.5", "1:30",
    "1.2.3", "roger",
]
# fmt: on
QUANTITIES: tuple[Quantity, ...] = ("altitude", "duration", "clock", "number")
any_text = st.text() | st.lists(st.sampled_from(NUMBER_WORDS), max_size=14).map(" ".join)


@given(any_text)
def test_any_text_is_read_without_error_and_spans_are_true(text: str) -> None:
    words = normalise(text).split()
    after = 0
    for found in find_values(text):
        assert after <= found.first_word <= found.last_word < len(words)
        assert found.text == " ".join(words[found.first_word : found.last_word + 1])
        after = found.last_word + 1
    for quantity in QUANTITIES:
        assert len(set(readings(text, quantity))) == len(readings(text, quantity))


@given(any_text)
def test_plain_numbers_found_alone_read_the_same_as_a_whole(text: str) -> None:
    for found in find_values(text):
        if found.form in ("cardinal", "digits", "pair", "decimal", "numeral"):
            assert parse_value(found.text, "number") == found.value


@pytest.mark.parametrize(
    "words",
    ["one ", "one hundred and ", "five and ", "one minute ", "point ", "oh ", "word ", "a "],
)
def test_time_grows_with_length_only(words: str) -> None:
    """A hundred thousand words; a quadratic step would take minutes, this well under a second."""
    text = words * (100_000 // len(words.split()))
    started = time.perf_counter()
    find_values(text)
    parse_value(text, "duration")
    assert time.perf_counter() - started < 10
