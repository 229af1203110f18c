"""Whose voice answered an item, on a channel that several positions share.

Nothing is decided by a voice but what is added here: status, value and order of a run stand before.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from voxlog.follow.event import FLAGS, Event
from voxlog.follow.evidence import ActEvidence
from voxlog.follow.exchange import Aside, Exchange, Resumed
from voxlog.sheet.model import Item, Sheet
from voxlog.speaker.voices import UNKNOWN, Line, voices_of

__all__ = ["Answerer", "answerers_of", "with_answerer"]

CLEAR = 2.0
"""Nats from which a line was heard clearly enough to learn the voice of who is to say it."""
ANOTHER = 0.5
"""How likely each other position is to answer beforehand, the one that the sheet names being 1."""
SURE = 0.9
"""Probability from which a voice is named that is not the one to answer."""
SUREST = 0.99
"""What a note says at most: nobody is certain by a voice alone."""


class Answerer(NamedTuple):
    """A position by its voice, and the probability of it."""

    position: str
    p: float


def answerers_of(
    sheet: Sheet,
    evidence: Sequence[ActEvidence],
    happened: Sequence[Exchange | Aside | Resumed],
) -> Mapping[Exchange, Answerer]:
    """Who answered each item whose answer has a known voice; nothing where that is unclear."""
    if not any(one.utterance.voice for one in evidence):
        return {}
    voices = _voices(evidence, _labels(sheet, evidence, happened), sheet.asks)
    found = {}
    for one in happened:
        step = sheet.steps[one.step].step if isinstance(one, Exchange) else None
        if isinstance(one, Exchange) and isinstance(step, Item):
            shares = [_weighed(voices.get(place, {}), step) for place in one.answers]
            if shares and all(shares):
                found[one] = _answerer(shares)
    return found


def with_answerer(row: Event, item: Item, asker: str, by: Answerer, exchange: Exchange) -> Event:
    """An item's row with what the voice of its answer says.

    asker: the position that asks. Nobody answers a question that was not heard to be asked.
    """
    is_expected = by.position in (item.by, *item.stand_in)
    if not is_expected and by.p < SURE:
        return row
    other = "" if is_expected else f", not the {item.by}"
    note = f"voice of the {by.position}{other}, p {min(by.p, SUREST):.2f}"
    is_own = not is_expected and by.position == asker and bool(exchange.asks)
    flags = {*row.flags, "self-answered"} if is_own else {*row.flags}
    return replace(
        row,
        flags=tuple(flag for flag in FLAGS if flag in flags),
        p=row.p * by.p if is_own else row.p,
        note="; ".join(filter(None, (row.note, note))),
    )


def _labels(
    sheet: Sheet,
    evidence: Sequence[ActEvidence],
    happened: Sequence[Exchange | Aside | Resumed],
) -> dict[int, tuple[str, bool]]:
    """Who is to say each utterance, and whether it is clear that it is this one."""
    labels: dict[int, tuple[str, bool]] = {}
    for one in happened:
        if isinstance(one, Exchange):
            step = sheet.steps[one.step].step
            asker = sheet.asks if isinstance(step, Item) else step.by
            for place in one.asks:
                labels[place] = asker, float(evidence[place].ask[one.step]) > CLEAR
            for place in one.answers:
                ways = evidence[place].ways(one.step)
                labels[place] = step.by, bool(one.asks) and ways[0].evidence > CLEAR
        elif isinstance(one, Aside) and evidence[one.utterance].sides:
            best = evidence[one.utterance].sides[0]
            # A callout is read back in the same words by somebody else.
            is_clear = best.act != "callout" and best.evidence > CLEAR
            labels[one.utterance] = best.position, is_clear
        elif isinstance(one, Resumed):
            labels[one.utterance] = sheet.asks, True
    return labels


def _voices(
    evidence: Sequence[ActEvidence], labels: Mapping[int, tuple[str, bool]], asker: str
) -> dict[int, Mapping[str, float]]:
    """The likelihood of each known voice, for each utterance, channel by channel."""
    places: dict[int, list[int]] = {}
    for place, one in enumerate(evidence):
        if one.utterance.voice and not one.position:
            places.setdefault(one.utterance.channel, []).append(place)
    found: dict[int, Mapping[str, float]] = {}
    for on_channel in places.values():
        lines = [
            Line(position, evidence[place].utterance.voice, is_clear)
            for place in on_channel
            for position, is_clear in [labels.get(place, ("", False))]
        ]
        found.update(zip(on_channel, voices_of(lines, asker), strict=True))
    return found


def _weighed(voices: Mapping[str, float], item: Item) -> Mapping[str, float]:
    """Probabilities of who answered; nothing as long as the voice to answer is not known.

    A new voice is most like one of the few that are known, and that may be the one that asks.
    """
    if item.by not in voices:
        return {}
    expected = {item.by, *item.stand_in}
    weighed = {
        one: share * (1.0 if one in expected else ANOTHER)
        for one, share in voices.items()
        if one != UNKNOWN
    }
    total = sum(weighed.values())
    return {position: share / total for position, share in weighed.items()} if total else {}


def _answerer(shares: Sequence[Mapping[str, float]]) -> Answerer:
    """The likeliest of the last answer, as far as every answer speaks for it.

    Who asked often says the answer again, as a receipt.
    """
    last = shares[-1]
    position = max(last, key=lambda one: last[one])
    return Answerer(position, min(share.get(position, 0.0) for share in shares))
