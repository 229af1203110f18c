"""Which values a spoken value may be mistaken for.

Every wording of the value is changed in one word at a time, each number word into every other that
sounds near enough, and the result is read again. How near two words sound is a weighted edit
distance between their pronunciations, taken from the CMU Pronouncing Dictionary (0.7b, as shipped
with pocketsphinx 5.1.1; stress left out). A vowel weighs twice a consonant, since vowels last
longer and survive noise and the telephone band, and a phone exchanged for one of its own class
costs half. That puts thirteen/thirty first and keeps five/nine, the pair that "niner" was made for.

On top of that, "two" and "four" before a number may have been "to" and "for", and the other way
round: 5,000 ("to five thousand") against 25,000.
"""

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import Final

from voxlog.numbers.parse import parse_value
from voxlog.numbers.quantity import Quantity
from voxlog.numbers.say import spoken_forms

__all__ = ["sound_alikes", "word_distance"]

_PRONUNCIATIONS: Final[dict[str, tuple[str, ...]]] = {
    word: tuple(phones.split())
    for word, phones in {
        "zero": "Z IH R OW",
        "oh": "OW",
        "one": "W AH N",
        "two": "T UW",
        "three": "TH R IY",
        "four": "F AO R",
        "five": "F AY V",
        "six": "S IH K S",
        "seven": "S EH V AH N",
        "eight": "EY T",
        "nine": "N AY N",
        "ten": "T EH N",
        "eleven": "IH L EH V AH N",
        "twelve": "T W EH L V",
        "thirteen": "TH ER T IY N",
        "fourteen": "F AO R T IY N",
        "fifteen": "F IH F T IY N",
        "sixteen": "S IH K S T IY N",
        "seventeen": "S EH V AH N T IY N",
        "eighteen": "EY T IY N",
        "nineteen": "N AY N T IY N",
        "twenty": "T W EH N T IY",
        "thirty": "TH ER T IY",
        "forty": "F AO R T IY",
        "fifty": "F IH F T IY",
        "sixty": "S IH K S T IY",
        "seventy": "S EH V AH N T IY",
        "eighty": "EY T IY",
        "ninety": "N AY N T IY",
    }.items()
}
_VOWELS: Final = frozenset(["IH", "IY", "EH", "ER", "AH", "AO", "AY", "EY", "UW", "OW"])
_CLASSES: Final = (
    _VOWELS,
    frozenset(["T", "K"]),  # stops
    frozenset(["F", "V", "TH", "S", "Z"]),  # fricatives
    frozenset(["N", "L", "R", "W"]),  # sonorants
)
_NEAR_ENOUGH: Final = 0.75
_TO_AND_FOR: Final = ("two", "four")
_TO_OR_TWO: Final = 0.25


def sound_alikes(
    value: float, low: float, high: float, step: float, quantity: Quantity = "number"
) -> tuple[float, ...]:
    """The values easily heard instead of `value`, the nearest in sound first, without itself.

    low, high: only values in this range, both ends included, and only those a whole number of
    steps from `low`. Of two that sound equally near, the smaller change comes first.
    Raises ValueError for a range that is empty or has no step, and for a value nobody can say.

    >>> sound_alikes(15, 0, 100, 1)[:2]
    (50.0, 16.0)
    """
    if not (low <= high and step > 0 and math.isfinite(high - low)):
        raise ValueError(f"no values from {low:g} to {high:g} by {step:g}")
    near = (
        (distance, abs(other - value), other)
        for other, distance in _misheard(float(value), quantity)
        if low <= other <= high and _is_on_grid(other - low, step)
    )
    return tuple(other for _, _, other in sorted(near))


def _is_on_grid(offset: float, step: float) -> bool:
    return math.isclose(offset, round(offset / step) * step, abs_tol=1e-6 * step)


@lru_cache(maxsize=4096)
def _misheard(value: float, quantity: Quantity) -> tuple[tuple[float, float], ...]:
    """(value, distance) of everything one wrong word makes of `value`, each once."""
    nearest: dict[float, float] = {}
    for form in spoken_forms(value, quantity):
        for distance, changed in _changes(form.split()):
            other = parse_value(changed, quantity)
            if other is not None and other != value:
                nearest[other] = min(distance, nearest.get(other, distance))
    return tuple(nearest.items())


def _changes(words: list[str]) -> Iterator[tuple[float, str]]:
    for place, word in enumerate(words):
        for other, distance in _near_words(word):
            yield distance, " ".join([*words[:place], other, *words[place + 1 :]])
    if words[0] in _TO_AND_FOR and len(words) > 1:
        yield _TO_OR_TWO, " ".join(words[1:])
    for word in _TO_AND_FOR:
        yield _TO_OR_TWO, " ".join([word, *words])


@lru_cache(maxsize=64)
def _near_words(word: str) -> tuple[tuple[str, float], ...]:
    if word not in _PRONUNCIATIONS:
        return ()
    distances = ((other, word_distance(word, other)) for other in _PRONUNCIATIONS)
    return tuple(pair for pair in distances if 0 < pair[1] <= _NEAR_ENOUGH)


def word_distance(word: str, other: str) -> float:
    """How unlike two number words sound: 0 the same, 1 nothing in common.

    >>> word_distance("thirteen", "thirty") < word_distance("five", "nine") < 1
    True
    """
    first, second = _PRONUNCIATIONS[word], _PRONUNCIATIONS[other]
    row = [0.0]
    for phone in second:
        row.append(row[-1] + _weight(phone))
    for phone in first:
        previous, row = row, [row[0] + _weight(phone)]
        for place, against in enumerate(second):
            row.append(
                min(
                    previous[place + 1] + _weight(phone),
                    row[place] + _weight(against),
                    previous[place] + _exchange(phone, against),
                )
            )
    return row[-1] / max(sum(map(_weight, first)), sum(map(_weight, second)))


def _weight(phone: str) -> float:
    return 2.0 if phone in _VOWELS else 1.0


def _exchange(phone: str, other: str) -> float:
    if phone == other:
        return 0.0
    same_class = any(phone in kind and other in kind for kind in _CLASSES)
    return max(_weight(phone), _weight(other)) * (0.5 if same_class else 1.0)
