"""What the voices say for training: nothing of any run sheet, so that no sheet is learned by heart.

Orders, reports and numbers in the manner of a crew, put together at random from common words, and
sentences of plain English from Python's own language reference.
"""

import random
import re
from collections.abc import Callable

from num2words import num2words

__all__ = ["prose", "random_line"]

_DIGITS = "zero one two three four five six seven eight niner nine".split()
_NOUNS = """valve hatch lamp panel gauge hose mask seat strap door switch regulator mark signal
camera monitor line cable handle lever filter tank bottle cuff sensor probe clock sheet light horn
fan pump window seal latch cabin chamber bench headset microphone harness helmet glove boot sleeve
pencil card bag kit cart rack frame wheel drum tray cup towel rope ladder""".split()
_STATES = """left right upper lower main spare red green blue white front rear inner outer second
third new old loose tight dry warm cold heavy light small large open closed clear ready""".split()
_VERBS = """check set open close move lift hold read call watch start stop turn push pull clean test
mark note report confirm drop raise lower shift carry fit remove count measure look""".split()
_PEOPLE = """subject attendant operator conductor recorder monitor crew chief doctor technician team
everybody""".split()
_ENDINGS = """please|now|thank you|when ready|on my signal|again|in a moment|for me|over|right away|
as before|if you can""".replace("\n", "").split("|")
_SHORT = """yes|no|okay|roger|affirm|negative|copied|standing by|understood|correct|say again|good|
stop|go""".replace("\n", "").split("|")
_UNITS = "percent feet pounds degrees seconds metres beats millibars".split()
_CREW_SHARE = 0.65


def random_line(rng: random.Random) -> str:
    """One thing to say."""
    if rng.random() < _CREW_SHARE:
        return rng.choice(_TEMPLATES)(rng)
    return rng.choice(prose())


def _number(rng: random.Random) -> str:
    def digit() -> str:
        return rng.choice(_DIGITS)

    def words(low: int, high: int) -> str:
        return str(num2words(rng.randint(low, high))).replace("-", " ").replace(",", "")

    return rng.choice(
        [
            " ".join(digit() for _ in range(rng.randint(2, 4))),
            f"{rng.choice(_DIGITS[1:])} {digit()} thousand",
            words(1, 99),
            words(100, 999),
            words(1, 45) + " thousand" + (" five hundred" if rng.random() < 0.3 else ""),
            f"{words(0, 60)} {rng.choice(['point', 'decimal'])} {digit()}",
            f"{words(1, 12)} minutes {words(1, 59)}",
            f"{words(1, 40)} hundred",
        ]
    )


_TEMPLATES: tuple[Callable[[random.Random], str], ...] = (
    lambda r: f"{r.choice(_VERBS)} the {r.choice(_STATES)} {r.choice(_NOUNS)}",
    lambda r: (
        f"{r.choice(_PEOPLE)}, {r.choice(_VERBS)} the {r.choice(_NOUNS)} {r.choice(_ENDINGS)}"
    ),
    lambda r: f"{r.choice(_STATES)} {r.choice(_NOUNS)} is {r.choice(_STATES)}",
    lambda r: f"{r.choice(_NOUNS)} {_number(r)}",
    lambda r: f"{r.choice(_PEOPLE)} reports {_number(r)} {r.choice(_UNITS)}",
    lambda r: f"the {r.choice(_NOUNS)} is not {r.choice(_STATES)}",
    lambda r: r.choice(_SHORT) + (f", {r.choice(_ENDINGS)}" if r.random() < 0.4 else ""),
    _number,
    lambda r: f"{r.choice(_PEOPLE)}, {_number(r)} {r.choice(_UNITS)}",
)


def prose() -> list[str]:
    """Sentences of plain English."""
    from pydoc_data.topics import topics

    sentences = [
        sentence
        for text in topics.values()
        for sentence in re.split(r"(?<=[.])\s+", re.sub(r"\s+", " ", text))
    ]
    return [one for one in sentences if re.fullmatch(r"[A-Za-z ,.'-]{15,80}", one)]
