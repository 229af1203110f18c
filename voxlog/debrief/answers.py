"""Who answered an item, and how long after the challenge."""

from collections.abc import Sequence
from dataclasses import dataclass

from voxlog.debrief.run import Run, Said
from voxlog.follow.event import Event
from voxlog.sheet.model import Item

__all__ = ["Answer", "answer_of"]

_ANSWERS = frozenset({"confirm", "deny", "value", "affirm", "negative"})
_ROUNDING_S = 0.002
"""Times of rows and utterances are rounded apart, to a sample and to a millisecond."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What is known of an answer.

    delay_s: from the end of the last challenge before the answer to its start; None where one of
    the two was not heard. position: the id of who answered. by_channel: the position is that of
    the channel; otherwise it is the one that the sheet names, and nobody knows the voice. heard_on:
    the id of another position, whose channel the answer was on although it is not to answer: mostly
    a voice that leaked.
    """

    delay_s: float | None
    position: str
    by_channel: bool
    heard_on: str = ""


def answer_of(run: Run, item: Item, event: Event) -> Answer:
    """The answer in an item's row. The row keeps the words, the utterances their times."""
    parts = event.heard.split(" / ") if event.heard else []
    asked = [part for part in parts if part in item.ask]
    answered = [part for part in parts if part not in item.ask]
    within = _within(run.said, event)
    answer = _first_answer(within, item.key, answered, has_challenge=bool(asked))
    if answer is None:
        return Answer(None, "", by_channel=False)
    ends = [
        one.end
        for one in within
        if one is not answer and one.start <= answer.start and _is_ask(one, item.key, asked)
    ]
    delay = max(0.0, answer.start - max(ends)) if ends else None
    position = next(
        (channel.position for channel in run.channels if channel.number == answer.channel), ""
    )
    if position in (item.by, *item.stand_in):
        return Answer(delay, position, by_channel=True)
    return Answer(delay, event.position, by_channel=False, heard_on=position)


def _within(said: Sequence[Said], event: Event) -> list[Said]:
    return [
        one
        for one in said
        if one.start >= event.start - _ROUNDING_S and one.end <= event.end + _ROUNDING_S
    ]


def _first_answer(
    within: Sequence[Said], key: str, answered: Sequence[str], *, has_challenge: bool
) -> Said | None:
    """The first utterance that may have been the row's first answer, after its challenge if any."""
    if not answered:
        return None
    found = [
        one
        for one in within
        if any(
            phrase.text == answered[0] and phrase.act in _ANSWERS and phrase.step in ("", key)
            for phrase in one.phrases
        )
    ]
    after = [one for one in found if one.start > within[0].start]
    return next(iter(after if has_challenge else found), None)


def _is_ask(one: Said, key: str, asked: Sequence[str]) -> bool:
    return any(
        phrase.act == "challenge" and phrase.step == key and phrase.text in asked
        for phrase in one.phrases
    )
