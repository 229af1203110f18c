"""Everything that a sheet makes sayable, as a tree of tokens with its own score on noise.

Whisper finds some words likely whatever is said. What a phrase scores where nothing was said is
therefore taken off what it scores on the audio; what remains is evidence. That prior depends on the
sheet and the model only, so it is computed once and kept (``priors.py``).
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voxlog.numbers.say import spoken_forms
from voxlog.sheet.model import Quantity
from voxlog.sheet.phrases import Phrase, Slot
from voxlog.speech.utterance import Sayable

Ints = NDArray[np.int64]

__all__ = ["Vocabulary", "build_vocabulary", "sayables"]

FORMS_PER_VALUE = 6
ALTITUDE_STEP = 500.0
"""Levels are called in whole hundreds or thousands; finer ones are not listened for."""
VALUES_PER_PHRASE = 400
COMMON_TOKENS = 1500
"""Byte-pair merges are numbered by frequency: these carry nearly all probability in English, and
normalising over them and the sheet's own tokens costs a twentieth of doing so over all. 6000 chose
no better on the fit scenarios (296 of 374 phrases at 5 dB, here 297) and took a seventh longer."""


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The sheet's sayable texts merged where they begin alike.

    prompt: the tokens before any text. Nodes are numbered parents first; node 0 stands for the
    last token of the prompt. token, parent: (nodes,). children: for each node its children.
    ends: node to the sayables complete there. among: token ids that probabilities are normalised
    over, end of text first. column: (nodes,) where the node's token stands in ``among``.
    """

    prompt: tuple[int, ...]
    token: Ints
    parent: Ints
    children: tuple[Ints, ...]
    ends: dict[int, tuple[Sayable, ...]]
    among: Ints
    column: Ints

    def path(self, node: int) -> list[int]:
        """The nodes from the first token to this one."""
        nodes = []
        while node:
            nodes.append(node)
            node = int(self.parent[node])
        return nodes[::-1]


def sayables(phrases: Sequence[Phrase]) -> list[Sayable]:
    """Fill the slots of the sheet's phrases with every value that can be said there.

    A number is listened for in words, as crews say it, and in figures, as Whisper mostly writes it.
    """
    return [sayable for index, phrase in enumerate(phrases) for sayable in _filled(phrase, index)]


def _filled(phrase: Phrase, index: int) -> Iterator[Sayable]:
    if phrase.slot is None:
        yield Sayable(phrase.text, index)
        return
    place = "{item}" if "{item}" in phrase.text else "{value}"
    values = _values(phrase.slot)
    # Minutes are said as a bare number, their name being part of the phrase; seconds with theirs.
    quantity = "number" if phrase.slot.unit == "min" else phrase.slot.quantity
    chance = -math.log(len(values))
    for value in values:
        forms = spoken_forms(value, quantity)[:FORMS_PER_VALUE]
        for form in forms:
            yield Sayable(phrase.text.replace(place, form), index, value, "", chance)
        for figures in _figures(value, quantity):
            written = phrase.text.replace(place, figures).replace(" percent", "%")
            yield Sayable(phrase.text.replace(place, forms[0]), index, value, written, chance)


def _figures(value: float, quantity: Quantity) -> tuple[str, ...]:
    """A number as it is written: 25000 as "25,000", 90 seconds as "1:30"."""
    if quantity == "duration" and value >= 60 and value % 60:
        return (f"{value // 60:.0f}:{value % 60:02.0f}",)
    if quantity == "duration":
        return (f"{value / 60:g} minutes",) if value >= 60 else (f"{value:g} seconds",)
    return (f"{value:,g}",) if value < 1e6 else ()


def _values(slot: Slot) -> list[float]:
    step = max(slot.step, ALTITUDE_STEP) if slot.quantity == "altitude" else slot.step
    while (slot.high - slot.low) / step > VALUES_PER_PHRASE:
        step *= 10
    count = int((slot.high - slot.low) / step + 1e-9) + 1
    return [round(slot.low + n * step, 6) for n in range(count)]


def build_vocabulary(
    said: Sequence[Sayable],
    encode: Callable[[str], list[int]],
    prompt: Sequence[int],
    end_of_text: int,
) -> Vocabulary:
    """Merge the texts into a token tree. ``encode`` gives the tokens of a text."""
    token, parent = [prompt[-1]], [-1]
    known: dict[tuple[int, int], int] = {}
    ends: dict[int, list[Sayable]] = {}
    for sayable in said:
        at = 0
        for piece in encode(f" {sayable.written or sayable.text}"):
            node = known.get((at, piece))
            if node is None:
                node = known[at, piece] = len(token)
                token.append(piece)
                parent.append(at)
            at = node
        ends.setdefault(at, []).append(sayable)
    tokens = np.array(token, np.int64)
    others = np.setdiff1d(np.union1d(np.arange(COMMON_TOKENS), tokens[1:]), [end_of_text])
    return Vocabulary(
        prompt=tuple(prompt),
        token=tokens,
        parent=np.array(parent, np.int64),
        children=_children(parent),
        ends={node: tuple(all_) for node, all_ in ends.items()},
        among=np.concatenate([[end_of_text], others]),
        column=np.searchsorted(others, tokens) + 1,
    )


def _children(parent: Sequence[int]) -> tuple[Ints, ...]:
    lists: list[list[int]] = [[] for _ in parent]
    for node, above in enumerate(parent):
        if above >= 0:
            lists[above].append(node)
    return tuple(np.array(one, np.int64) for one in lists)
