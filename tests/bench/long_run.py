"""A run of any length for the follower: 500 items, each asked and answered among free talk.

Utterances are made as the recogniser makes them, each with several phrases that it may have been:
for an item's own words the right one stands out, for free talk none does.
"""

import random
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from voxlog.numbers.say import spoken_forms
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import Act, Phrase, sheet_phrases
from voxlog.speech.utterance import Heard, Sayable, Utterance

__all__ = ["ITEMS", "SIZES", "LongRun", "made_up_run"]

ITEMS = 500
SIZES = (2_500, 5_000, 10_000, 20_000)
PHASES = 10
ALTERNATIVES = 12
"""Phrases that each utterance may have been; the recogniser keeps 24 at most."""
SECONDS_APART = 3.0
_ACTS: tuple[Act, ...] = ("challenge", "confirm")


class LongRun(NamedTuple):
    """What the follower is given. end: seconds."""

    utterances: list[Utterance]
    sheet: Sheet
    phrases: tuple[Phrase, ...]
    end: float


def made_up_run(size: int, seed: int = 1) -> LongRun:
    """`size` utterances, evenly many to an item; the first two of each ask and answer it."""
    sheet = _sheet()
    phrases = sheet_phrases(sheet)
    rng = random.Random(seed)
    places = {(phrase.act, phrase.step): place for place, phrase in enumerate(phrases)}
    utterances = []
    for number, said in enumerate(_script(places, size)):
        heard = [_heard(phrases, place, rng.uniform(-8, -2)) for place in _others(phrases, rng)]
        if said is not None:
            heard.insert(0, _heard(phrases, said, 6.0))
        heard.sort(key=lambda one: -one.evidence)
        start = number * SECONDS_APART
        span = start, start + 1.5
        utterances.append(Utterance(0, *span, (span,), "said", tuple(heard)))
    return LongRun(utterances, sheet, phrases, size * SECONDS_APART)


def _script(places: Mapping[tuple[Act, str], int], size: int) -> Iterator[int | None]:
    """The phrase that is said, or None for free talk."""
    for number in range(size):
        item, turn = divmod(number, size // ITEMS)
        yield places[_ACTS[turn], str(item + 1)] if turn < len(_ACTS) and item < ITEMS else None


def _others(phrases: Sequence[Phrase], rng: random.Random) -> list[int]:
    return rng.sample(range(len(phrases)), ALTERNATIVES)


def _heard(phrases: Sequence[Phrase], place: int, evidence: float) -> Heard:
    return Heard(Sayable(phrases[place].text, place), evidence)


def _sheet() -> Sheet:
    each = ITEMS // PHASES
    return Sheet.model_validate(
        {
            "voxlog-sheet": 1,
            "id": "long",
            "title": "Five hundred items",
            "source": "invented to measure the follower",
            "positions": {"conductor": "Conductor", "operator": "Operator"},
            "asks": "conductor",
            "phases": [
                {
                    "id": f"phase-{phase + 1}",
                    "title": f"Phase {phase + 1}",
                    "steps": [_item(phase * each + n + 1) for n in range(each)],
                }
                for phase in range(PHASES)
            ],
        }
    )


def _item(number: int) -> dict[str, object]:
    said = spoken_forms(number, "number")[0]
    return {
        "item": number,
        "ask": f"check {said}",
        "by": "operator",
        "confirm": [f"{said} is good"],
        "deny": [f"{said} has failed"],
    }
