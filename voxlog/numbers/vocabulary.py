"""The words that numbers are spoken with, each as one letter of the grammar's alphabet.

A text becomes a string with one letter a word (its *kinds*), so that the grammar is a handful of
regular expressions over that string, and a place in it is the index of a word.

Pronounced spellings (tree, fower, fife, ait, niner, tousand ...) are those of ICAO Annex 10
Volume II, 5.2.1.4.3.1, as a recogniser writes them down.
"""

import re
from typing import Final

__all__ = ["DIGITS", "TEENS", "TENS", "figure_of", "kind_of"]

# fmt: off
DIGITS: Final = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS: Final = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen",
                "seventeen", "eighteen", "nineteen")
TENS: Final = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
# fmt: on
_AS_PRONOUNCED: Final = {
    "wun": "1",
    "tree": "3",
    "fower": "4",
    "fife": "5",
    "ait": "8",
    "niner": "9",
    "nina": "9",
}
# The alphabet. Words: d one to nine, z zero, t ten to nineteen, y twenty to ninety, h hundred,
# k thousand, p decimal point, o and u words that are a zero or a two only beside other numbers.
# Written digits: w 10 to 99, q 00 to 09, n three digits, N four to nine, F with a decimal point,
# C with a colon (a single written digit is d or z).
_KINDS: Final[dict[str, tuple[str, ...]]] = {
    "h": ("hundred",),
    "k": ("thousand", "tousand", "k"),
    "p": ("decimal", "point"),
    "&": ("and",),
    "a": ("a", "an"),
    "x": ("half",),
    "m": ("minus",),
    "+": ("plus",),
    "%": ("percent",),
    "f": ("feet", "foot", "ft"),
    "H": ("hour", "hours"),
    "M": ("minute", "minutes", "min", "mins"),
    "S": ("second", "seconds", "sec", "secs"),
    "Z": ("zulu", "local", "utc"),
    "T": ("time",),
    "L": ("fl",),
    "g": ("flight",),
    "l": ("level",),
    "A": ("angels", "angel"),
    # Parts of larger numbers that we do not read, on either side of what we do.
    "!": ("million", "billion", "hundreds", "thousands", "dozen"),
    # Fractions and ordinals: they change the number before them.
    "r": (
        *("quarter", "quarters", "third", "thirds", "tenths", "hundredths", "thousandths"),
        *("first", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"),
    ),
}

_LEXICON: Final[dict[str, tuple[str, str]]] = {
    **{word: (kind, "") for kind, words in _KINDS.items() for word in words},
    **{word: ("d", str(digit)) for digit, word in enumerate(DIGITS)},
    **{word: ("d", digit) for word, digit in _AS_PRONOUNCED.items()},
    **{word: ("t", str(10 + place)) for place, word in enumerate(TEENS)},
    **{word: ("y", str(20 + 10 * place)) for place, word in enumerate(TENS)},
    "zero": ("z", "0"),
    "nought": ("z", "0"),
    "oh": ("o", "0"),
    "o": ("o", "0"),
    "too": ("u", "2"),
}
_WRITTEN = re.compile(
    r"(?P<z>0)|(?P<d>[1-9])|(?P<w>[1-9][0-9])|(?P<q>0[0-9])|(?P<n>[0-9]{3})|(?P<N>[0-9]{4,9})"
    r"|(?P<F>[0-9]{1,9}\.[0-9]{1,9})|(?P<C>[0-9]{1,2}(?::[0-9]{2}){1,2})"
)


def kind_of(word: str) -> str:
    """The letter of a normalised word; "." for words that are not about numbers.

    Written digits that fit nothing (1.2.3, 1:5, twelve digits) are "!", which spoils the number
    beside them: part of a number is a wrong number.
    """
    entry = _LEXICON.get(word)
    if entry is not None:
        return entry[0]
    if not "0" <= word[0] <= "9":
        return "."
    written = _WRITTEN.fullmatch(word)
    return written.lastgroup or "!" if written else "!"


def figure_of(word: str) -> str:
    """The digits of a word ("five" -> "5", "5.5" -> "5.5"), "" for hundred, point and the like."""
    entry = _LEXICON.get(word)
    return word if entry is None else entry[1]
