"""The only text normaliser: what a sheet expects and what was heard both go through it.

Case, accents, apostrophes, punctuation and hyphens carry no meaning here and go. Digits stay, and
so do the marks that belong to a number: a decimal point, the colon of a clock, a sign. The signs
``%``, ``&``, ``+`` and ``½`` become the words that are spoken for them.
"""

import re
import unicodedata
from typing import Final

__all__ = ["normalise"]

_SPOKEN_SIGNS: Final = str.maketrans(
    {
        "%": " percent ",
        "&": " and ",
        "+": " plus ",
        "½": " and a half ",
        "¼": " and a quarter ",
        "¾": " and three quarters ",
        "−": "-",
        # Dropped, not turned into spaces, so that "don't" stays one word.
        "'": None,
        "’": None,
        "ʼ": None,
    }
)
_SIGN = re.compile(r"(?<!\S)-(?=[0-9])")
_BARE_FRACTION = re.compile(r"(?<!\S)\.(?=[0-9])")
# "25,000" is one number; "91,92" is a list, and "1,8000" (a recogniser's "one eight thousand") is
# left in two parts for the number grammar to join.
_GROUPING = re.compile(r"(?<=[0-9]),(?=[0-9]{3}(?![0-9]))")
_RATIO = re.compile(r"(?<=[0-9])/(?=[0-9])")
_WORD = re.compile(
    r"[0-9]+(?:st|nd|rd|th)(?![^\W_])"  # 2nd is not the number 2
    r"|[0-9]+(?:(?:\.[0-9]+)+|(?::[0-9]+)+)?"  # 25000, 5.5, 1:30; a unit written on splits off
    r"|fl(?=[0-9])"  # FL250
    r"|[^\W_]+"
)


def normalise(text: str) -> str:
    """`text` as lower-case words parted by single spaces; normalising again changes nothing.

    >>> normalise("Passing 25,000 ft; read-back, FL250: 91% isn't 5.5")
    'passing 25000 ft read back fl 250 91 percent isnt 5.5'
    """
    if not text.isascii():
        text = _plain_letters(text)
    text = text.lower().translate(_SPOKEN_SIGNS)
    text = _SIGN.sub("minus ", text)
    text = _BARE_FRACTION.sub("0.", text)
    text = _GROUPING.sub("", text)
    text = _RATIO.sub(" over ", text)
    return " ".join(_WORD.findall(text))


def _plain_letters(text: str) -> str:
    """Without accents, and with the decimal digits of any script as 0-9.

    Compatibility forms are left alone: folding them would make 10² into the number 102.
    """
    letters = unicodedata.normalize("NFD", unicodedata.normalize("NFD", text).casefold())
    plain = (
        str(unicodedata.decimal(letter)) if letter.isdecimal() else letter
        for letter in letters
        if not unicodedata.combining(letter)
    )
    return unicodedata.normalize("NFC", "".join(plain))
