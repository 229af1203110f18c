"""Questions to the log: which utterances are meant for it and not for the crew. Pure.

A question is no evidence for any item. It is taken out of what the follower sees and becomes a note
of its own, so that a sheet with questions is followed as one without them.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from rapidfuzz import fuzz

from voxlog.follow.event import Event
from voxlog.follow.follower import follow
from voxlog.follow.probability import squash
from voxlog.numbers.normalise import normalise
from voxlog.sheet.model import AskByVoice, Sheet
from voxlog.sheet.phrases import ASKED_OF_THE_LOG, Act, Phrase, reading_name
from voxlog.speech.utterance import Utterance

__all__ = [
    "Query",
    "follow_run",
    "hear_queries",
    "note_of",
    "take_out_queries",
    "with_queries",
]

PATIENCE = 6.0
"""Seconds after a bare call-word or "mark" in which the next words on the channel belong to it."""
BREATH = 1.0
"""Seconds at most between two utterances of one segment."""
ALIKE = 80.0
"""Likeness in percent from which the free text counts as having the words: it writes "log book"."""
SURELY_ELSE = 3.0
"""Nats from which a phrase of the sheet is believed rather than the free text."""


@dataclass(frozen=True, slots=True)
class Query:
    """Something asked of the log, or told to it.

    act: one of ASKED_OF_THE_LOG; "call-word" is a call that nothing followed. start, end: seconds
    from the start of the recording. heard: the words. evidence: in nats. reading, item: what is
    asked about, "" and None for nothing. words: the text of a mark.
    """

    act: Act
    channel: int
    start: float
    end: float
    heard: str
    evidence: float
    reading: str = ""
    item: int | None = None
    words: str = ""


def take_out_queries(
    utterances: Sequence[Utterance], sheet: Sheet, phrases: Sequence[Phrase]
) -> list[Utterance]:
    """What is left for the follower; all of it, as it is, for a sheet without questions."""
    if sheet.ask_by_voice is None:
        return list(utterances)
    taken = {
        place for _, places in _found(utterances, sheet.ask_by_voice, phrases) for place in places
    }
    return [
        _without_questions(one, phrases)
        for place, one in enumerate(utterances)
        if place not in taken
    ]


def hear_queries(
    utterances: Sequence[Utterance], sheet: Sheet, phrases: Sequence[Phrase]
) -> list[Query]:
    """The questions among utterances, in their order. utterances: in order of time."""
    if sheet.ask_by_voice is None:
        return []
    return [query for query, _ in _found(utterances, sheet.ask_by_voice, phrases)]


def note_of(query: Query) -> Event:
    """The row of the log that keeps a question or a mark."""
    return Event(
        start=query.start,
        end=query.end,
        kind="note",
        heard=query.heard,
        p=squash(query.evidence),
        note=_NOTES[query.act]
        .format(reading=reading_name(query.reading), item=query.item, words=query.words)
        .removesuffix(": "),
    )


_NOTES: dict[Act, str] = {
    "call-word": "called; no question was understood",
    "ask-open": "asked: open items",
    "ask-time": "asked: time at level",
    "ask-reading": "asked: last reading of {reading}",
    "mark": "mark: {words}",
    "correct-item": "correction of item {item}",
}


def follow_run(
    utterances: Sequence[Utterance],
    sheet: Sheet,
    phrases: Sequence[Phrase],
    end: float,
    positions: Mapping[int, str] | None = None,
) -> list[Event]:
    """`follow`, with what was asked of the log taken out of its sight and kept as notes."""
    heard = take_out_queries(utterances, sheet, phrases)
    rows = follow(heard, sheet, phrases, end, positions)
    return with_queries(rows, hear_queries(utterances, sheet, phrases))


def with_queries(rows: Sequence[Event], queries: Sequence[Query]) -> list[Event]:
    """The rows with a note for each question, in time order."""
    notes = [note_of(query) for query in queries]
    return sorted([*rows, *notes], key=lambda row: (row.start, row.end)) if notes else [*rows]


def _found(
    utterances: Sequence[Utterance], asked: AskByVoice, phrases: Sequence[Phrase]
) -> Iterator[tuple[Query, tuple[int, ...]]]:
    """Each question with the places of its utterances."""
    taken: set[int] = set()
    for place, one in enumerate(utterances):
        query = None if place in taken else _query(one, asked, phrases)
        if query is None:
            continue
        places: tuple[int, ...] = (place,)
        if query.act == "mark" and query.words:
            # Its words may have been taken for phrases of the sheet: "mark, visor up and fogging".
            places = _one_breath(utterances, place)
            query = replace(query, end=utterances[places[-1]].end, heard=normalise(one.text))
        elif query.act in ("call-word", "mark"):
            after = _next_on_channel(utterances, place)
            following = None if after is None else utterances[after]
            joined = following and _joined(query, following, asked, phrases)
            if after is not None and joined:
                query, places = joined, (place, after)
        taken.update(places)
        yield query, places


def _query(one: Utterance, asked: AskByVoice, phrases: Sequence[Phrase]) -> Query | None:
    best = one.heard[0] if one.heard else None
    is_phrase = best is not None and best.evidence > 0
    if best is not None and is_phrase:
        phrase = phrases[best.sayable.phrase]
        if phrase.act in ASKED_OF_THE_LOG:
            number = best.sayable.value
            return Query(
                phrase.act,
                one.channel,
                one.start,
                one.end,
                best.sayable.text,
                best.evidence,
                reading=phrase.step,
                item=None if number is None else round(number),
                words=_words_of_mark(one.text, asked) or "" if phrase.act == "mark" else "",
            )
        if best.evidence > SURELY_ELSE:
            return None
    words = _words_of_mark(one.text, asked)
    if words is None:
        return None
    return Query("mark", one.channel, one.start, one.end, normalise(one.text), 0.0, words=words)


def _words_of_mark(text: str, asked: AskByVoice) -> str | None:
    """What follows "CALL-WORD mark" in a free text; None for a text that does not begin with it."""
    said = normalise(text).split()
    starts = [f"{call} {mark}" for call in asked.call_word for mark in asked.mark]
    found: list[tuple[float, int]] = []
    for start in starts:
        length = len(start.split())
        for count in {length, length + 1}:
            if count <= len(said):
                likeness = fuzz.ratio("".join(said[:count]), start.replace(" ", ""))
                found.append((likeness, -count))
    likeness, count = max(found, default=(0.0, 0))
    return " ".join(said[-count:]) if likeness >= ALIKE else None


def _one_breath(utterances: Sequence[Utterance], place: int) -> tuple[int, ...]:
    """The utterance and those that were made of the same segment: they share its free text."""
    places = [place]
    for after in range(place + 1, len(utterances)):
        last, one = utterances[places[-1]], utterances[after]
        if one.start - last.end > BREATH:
            break
        if (one.channel, one.text) == (last.channel, last.text):
            places.append(after)
    return tuple(places)


def _next_on_channel(utterances: Sequence[Utterance], place: int) -> int | None:
    end = utterances[place].end
    for after in range(place + 1, len(utterances)):
        if utterances[after].start - end > PATIENCE:
            return None
        if utterances[after].channel == utterances[place].channel:
            return after
    return None


def _joined(
    query: Query, following: Utterance, asked: AskByVoice, phrases: Sequence[Phrase]
) -> Query | None:
    """A bare call-word or mark with what was said after it, unless that is the sheet's own."""
    if following.heard and following.heard[0].evidence > 0:
        return None
    text = normalise(following.text)
    if not text:
        return None
    heard = f"{query.heard} {text}"
    if query.act == "mark":
        return replace(query, end=following.end, heard=heard, words=text)
    words = _words_of_mark(f"{asked.call_word[0]} {text}", asked)
    if words is not None:
        return replace(query, act="mark", end=following.end, heard=heard, words=words)
    best = max(
        (phrase for phrase in phrases if phrase.act in ASKED_OF_THE_LOG and phrase.slot is None),
        key=lambda phrase: fuzz.ratio(heard, phrase.text),
    )
    if best.act == "call-word" or fuzz.ratio(heard, best.text) < ALIKE:
        return None
    return replace(query, act=best.act, end=following.end, heard=heard, reading=best.step)


def _without_questions(one: Utterance, phrases: Sequence[Phrase]) -> Utterance:
    """What else it may have been: a question to the log speaks neither for nor against an item."""
    kept = tuple(
        heard for heard in one.heard if phrases[heard.sayable.phrase].act not in ASKED_OF_THE_LOG
    )
    return one if len(kept) == len(one.heard) else replace(one, heard=kept)
