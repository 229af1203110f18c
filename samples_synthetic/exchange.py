"""One item asked and answered, with whatever the scenario plants in it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from samples_synthetic.figures import spoken
from samples_synthetic.scenario import Deviation
from samples_synthetic.script import Beat, Row, Said
from voxlog.errors import InputError
from voxlog.sheet.model import Item, Reading, Sheet, ValueSpec

__all__ = ["Exchange", "value_between"]

_LATE_BY_S = (1.5, 4.0)
_SILENCE_S = (3.5, 6.0)  # what a conductor waits before going on
_BREATH_S = 0.12  # between parts of one utterance
_PLAIN_AFFIRM = 0.08  # share of answers that are "affirm" instead of the sheet's own words


@dataclass
class Exchange:
    """Writes beats for items of a sheet; the generator decides wording, values and gaps."""

    sheet: Sheet
    rng: np.random.Generator

    def plain(self, item: Item, phase: str) -> Beat:
        """Asked and answered as the sheet wants it."""
        ask, answer, row = self._parts(item, phase)
        return Beat((ask, answer), (row,))

    def deviating(self, what: Deviation, item: Item, phase: str) -> Beat:
        """Asked and answered with one deviation."""
        return self.KINDS[what](self, item, phase)

    def one_breath(self, first: Item, second: Item, phase: str) -> Beat:
        """Two items asked in one utterance, and both then answered."""
        ask, answer, row = self._parts(first, phase)
        ask_too, answer_too, row_too = self._parts(second, phase)
        same = first.by == second.by
        then = _BREATH_S if same else self._reply_gap()
        lines = (ask, replace(ask_too, gap=_BREATH_S), answer, replace(answer_too, gap=then))
        return Beat(
            lines,
            (
                replace(row, lines=(0, 2), asked=0, answered=2),
                replace(row_too, lines=(1, 3), asked=1, answered=3),
            ),
        )

    def choose(self, texts: tuple[str, ...]) -> str:
        """One of the wordings."""
        return texts[int(self.rng.integers(len(texts)))]

    def _unanswered(self, item: Item, phase: str) -> Beat:
        ask, _, row = self._parts(item, phase)
        row = replace(row, status="unconfirmed", value=None, unit="", lines=(0,), answered=None)
        return Beat((ask,), (row,), silence=self._between(_SILENCE_S))

    def _receipt(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        answer = replace(answer, text=self.choose(self.sheet.words.receipt))
        row = replace(row, status="unconfirmed", value=None, unit="", answered=None)
        return Beat((ask, answer), (row,))

    def _deny(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        answer = replace(answer, text=self.choose(item.deny or self.sheet.words.negative))
        return Beat((ask, answer), (replace(row, status="negative", value=None, unit=""),))

    def _off_limit(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        wrong = value_between(_value_of(item), self.rng, is_within=False)
        answer = replace(answer, text=self._answer_text(item, wrong))
        return Beat((ask, answer), (replace(row, value=wrong, flags=("off-limit",)),))

    def _late(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        gap = self.sheet.seconds_to_answer(item) + self._between(_LATE_BY_S)
        return Beat((ask, replace(answer, gap=gap)), (row,))

    def _ask_twice(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        again = replace(ask, text=self.choose(item.ask), gap=self._between(_SILENCE_S))
        row = replace(row, lines=(0, 1, 2), asked=1, answered=2, flags=("repeated",))
        return Beat((ask, again, answer), (row,))

    def _say_again(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        please = Said(item.by, self.choose(self.sheet.words.say_again), self._reply_gap())
        again = replace(ask, gap=self._reply_gap())
        row = replace(row, lines=(0, 1, 2, 3), asked=2, answered=3, flags=("repeated",))
        return Beat((ask, please, again, answer), (row,))

    def _stand_by(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        wait = Said(item.by, self.choose(self.sheet.words.stand_by), self._reply_gap())
        left = self.sheet.seconds_to_answer(item) - wait.gap - 1.5  # its words take under a second
        answer = replace(answer, gap=max(1.0, min(left, self._between((2.5, 5.0)))))
        row = replace(row, lines=(0, 1, 2), asked=0, answered=2)
        return Beat((ask, wait, answer), (row,))

    def _correction(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        spec = _value_of(item)
        first = value_between(spec, self.rng)
        while first == row.value:
            first = value_between(spec, self.rng)
        correction = self.choose(self.sheet.words.correction)
        text = f"{self._answer_text(item, first)}, {correction}, {answer.text}"
        return Beat(
            (ask, replace(answer, text=text)),
            (replace(row, note=f"corrected from {_shortest(first)}"),),
        )

    def _no_challenge(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        row = replace(row, lines=(0,), asked=None, answered=0, note="challenge not heard")
        return Beat((replace(answer, gap=ask.gap),), (row,))

    def _disregard(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        later = self._another(item)
        wrong = replace(ask, text=self.choose(later.ask))
        back = replace(ask, text=self.choose(self.sheet.words.disregard), gap=0.4)
        row = replace(row, lines=(2, 3), asked=2, answered=3)
        return Beat((wrong, back, replace(ask, gap=0.8), answer), (row,))

    def _no_pause(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        return Beat((ask, replace(answer, gap=0.03)), (row,))

    def _self_answered(self, item: Item, phase: str) -> Beat:
        ask, answer, row = self._parts(item, phase)
        answer = replace(answer, position=self.sheet.asks)
        return Beat((ask, answer), (replace(row, flags=("self-answered",)),))

    def _parts(self, item: Item, phase: str) -> tuple[Said, Said, Row]:
        """The challenge, a satisfying answer, and the row if nothing else happens."""
        value = value_between(item.value, self.rng) if item.value else None
        ask = Said(self.sheet.asks, self.choose(item.ask), self.pause())
        answer = Said(item.by, self._answer_text(item, value), self._reply_gap())
        row = Row(
            kind="item",
            item=item.key,
            phase=phase,
            position=item.by,
            status="confirmed",
            value=value,
            unit=item.value.unit if item.value else "",
            lines=(0, 1),
            asked=0,
            answered=1,
            within=self.sheet.seconds_to_answer(item),
        )
        return ask, answer, row

    def _answer_text(self, item: Item, value: float | None) -> str:
        if item.value and value is not None:
            said = self.choose(item.value.say)
            return said.replace("{value}", spoken(value, item.value.unit, self.rng))
        if self.rng.random() < _PLAIN_AFFIRM:
            return self.choose(self.sheet.words.affirm)
        return self.choose(item.confirm)

    def _another(self, item: Item) -> Item:
        """The item three further on, or three back near the end: one nobody would expect."""
        items = self.sheet.items
        place = items.index(item)
        return items[place + 3] if place + 3 < len(items) else items[place - 3]

    def pause(self) -> float:
        """Seconds between two exchanges: mostly a second or two, now and then three."""
        return float(np.clip(self.rng.gamma(3.0, 0.55), 0.6, 3.0))

    def _reply_gap(self) -> float:
        """Seconds before an answer: mostly half a second, never under a quarter."""
        return float(np.clip(self.rng.lognormal(-0.6, 0.45), 0.25, 1.5))

    def _between(self, span: tuple[float, float]) -> float:
        return float(self.rng.uniform(*span))

    KINDS: ClassVar[Mapping[Deviation, Callable[["Exchange", Item, str], Beat]]] = {
        "unanswered": _unanswered,
        "receipt": _receipt,
        "deny": _deny,
        "off-limit": _off_limit,
        "late": _late,
        "ask-twice": _ask_twice,
        "say-again": _say_again,
        "stand-by": _stand_by,
        "correction": _correction,
        "no-challenge": _no_challenge,
        "disregard": _disregard,
        "no-pause": _no_pause,
        "self-answered": _self_answered,
    }


def value_between(
    spec: ValueSpec | Reading, rng: np.random.Generator, *, is_within: bool = True
) -> float:
    """A value that can be said, inside the limits or outside them (but not far)."""
    low, high = spec.sayable
    steps = np.arange(round((high - low) / spec.step) + 1)
    values = [round(low + float(k) * spec.step, 6) for k in steps]
    fitting = [value for value in values if spec.is_within_limits(value) == is_within]
    if not fitting:
        raise InputError(f"no value {'within' if is_within else 'outside'} the limits can be said")
    return fitting[int(rng.integers(len(fitting)))]


def _value_of(item: Item) -> ValueSpec:
    if item.value is None:
        raise InputError(f"item {item.number}: has no value; plant this at an item with one")
    return item.value


def _shortest(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")
