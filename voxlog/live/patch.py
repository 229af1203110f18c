"""Which position's words come in on which channel, by the sheet. Pure.

A channel that is patched to another position has the wrong name on everything, and nobody's answers
on it confirm an item. capture/meter.py judges what is counted here.
"""

from collections import Counter
from collections.abc import Mapping, Sequence

from voxlog.sheet.phrases import Phrase
from voxlog.speech.utterance import Utterance

__all__ = ["said_by"]

SURE = 3.0
"""Evidence in nats from which an utterance is taken for the phrase it is most like."""
LATEST = 12
"""Phrases a channel that are gone by, so that a patch put right is soon seen to be right."""


def said_by(
    utterances: Sequence[Utterance], phrases: Sequence[Phrase], positions: Mapping[int, str]
) -> list[tuple[int, str]]:
    """(channel, the position that says such a thing) of each channel's last phrases, newest first.

    Only phrases that are one position's count; what a channel's own position may say is its own.
    utterances: in order of time. positions: 0-based channel to position.
    """
    counts: Counter[int] = Counter()
    found: list[tuple[int, str]] = []
    for one in reversed(utterances):
        own = positions.get(one.channel, "")
        if not own or counts[one.channel] == LATEST:
            continue
        position = _speaker(_sure_phrases(one, phrases), own)
        if position:
            counts[one.channel] += 1
            found.append((one.channel, position))
        if len(counts) == len(positions) and min(counts.values()) == LATEST:
            break
    return found


def _sure_phrases(one: Utterance, phrases: Sequence[Phrase]) -> list[Phrase]:
    """The phrases of the words that it was heard as; none if that is not sure."""
    if not one.heard or one.heard[0].evidence < SURE:
        return []
    words = one.heard[0].sayable.text
    return [phrases[heard.sayable.phrase] for heard in one.heard if heard.sayable.text == words]


def _speaker(said: Sequence[Phrase], own: str) -> str:
    """The position whose phrases these are, its own first; "" if they may be several's."""
    if any(own in (phrase.position, *phrase.others) for phrase in said):
        return own
    positions = {phrase.position for phrase in said}
    return positions.pop() if len(positions) == 1 else ""
