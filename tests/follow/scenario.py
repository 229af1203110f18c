"""A scenario: what was heard in a run, line by line, and the events that must come of it.

    A sentence that says what it shows.
    sheet: checks
    heard
       1.0  conductor  intercom check
       3.0  attendant  loud and clear     2.5  valve closed  2
      10.0  items 2 to 4
    events
      item  1    confirmed  -        -     at=1.0
      items 2 to 4 confirmed

Columns of `heard` are parted by two or more spaces: seconds, who speaks, the words, and then if
need be the evidence in nats, and other words with theirs. A row of dots in the words is a pause.
Words that the sheet lists have evidence 5 and all else that the sheet lists has less, the less
alike the words are; words that it does not list are free talk, and the phrase most like them has
-5.
`items 2 to 4` are asked and answered as they should be, six seconds each; evidence may follow.
Columns of `events` are kind, item, status, flags and value, "-" for none, then if need be `at=` and
`until=` in seconds and `note=`. Notes are not listed. `channels:` names who speaks on which
channel, where each has one; `end:` the length.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path

import numpy as np
from rapidfuzz import fuzz, process

from voxlog.follow.event import Event
from voxlog.follow.follower import follow
from voxlog.numbers.say import spoken_forms
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Item, Sheet
from voxlog.sheet.phrases import Phrase, sheet_phrases
from voxlog.speech.utterance import Heard, Sayable, Utterance
from voxlog.speech.vocabulary import sayables

__all__ = [
    "FOLDER",
    "Expected",
    "Listed",
    "Scenario",
    "as_heard",
    "differs",
    "read_scenario",
    "shown",
]

FOLDER = Path(__file__).parent / "scenarios"
CLEAR, TALK = 5.0, -5.0
LEAST_MARGIN = 3.0
"""Nats between words that were heard and what is most like them, where a scenario does not say."""
NATS_OF_UNLIKENESS = 8.0
KEPT = 24
LIKELY = 200
PAUSE = 0.4
CLOSE = 0.06


def seconds_of(words: str) -> float:
    return 0.3 + 0.05 * len(words)


@dataclass(frozen=True)
class Listed:
    """A sheet and all that can be said by it."""

    sheet: Sheet
    phrases: tuple[Phrase, ...]
    said: tuple[Sayable, ...]

    @cached_property
    def texts(self) -> list[str]:
        return [one.text for one in self.said]

    def heard_as(self, words: str, evidence: float | None = None) -> dict[Sayable, float]:
        """What an utterance with these words would be taken for, as far as it is likely at all."""
        likeness = process.cdist([words], self.texts, scorer=fuzz.ratio)[0] / 100
        top = float(likeness.max())
        is_listed = top == 1
        best = (CLEAR if is_listed else TALK) if evidence is None else evidence
        found = {}
        for place in np.argsort(-likeness, kind="stable")[:LIKELY]:
            loss = NATS_OF_UNLIKENESS * (top - float(likeness[place]))
            margin = LEAST_MARGIN if is_listed and loss else 0.0
            found[self.said[place]] = best - margin - loss
        return found


@cache
def listed(name: str) -> Listed:
    sheet = load_sheet(FOLDER / f"{name}.yaml")
    phrases = sheet_phrases(sheet)
    return Listed(sheet, phrases, tuple(sayables(phrases)))


@dataclass(frozen=True)
class Expected:
    """A row that must come, with the line that says so."""

    line: str
    fields: tuple[str, ...]
    times: Mapping[str, float]
    note: str


@dataclass(frozen=True)
class Scenario:
    """A scenario, read."""

    listed: Listed
    utterances: tuple[Utterance, ...]
    positions: Mapping[int, str]
    end: float
    expected: tuple[Expected, ...]

    def events(self) -> list[Event]:
        """All that the follower makes of it."""
        return follow(
            self.utterances, self.listed.sheet, self.listed.phrases, self.end, self.positions
        )


def read_scenario(text: str) -> Scenario:
    head, _, rest = text.partition("\nheard\n")
    heard, _, events = rest.partition("\nevents\n")
    settings = dict(re.findall(r"^(\w+): (.*)$", head, re.MULTILINE))
    known = listed(settings["sheet"])
    channels = settings.get("channels", "").split()
    utterances = [
        utterance
        for line in _lines(heard)
        for utterance in _utterances(re.split(r"\s{2,}", line), known, channels)
    ]
    return Scenario(
        known,
        tuple(sorted(utterances, key=lambda one: one.start)),
        dict(enumerate(channels)),
        float(settings.get("end", max(one.end for one in utterances) + 5)),
        tuple(row for line in _lines(events) for row in _expected(line, known.sheet)),
    )


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


def _items(words: str, sheet: Sheet) -> list[Item]:
    """The items that "items 2 to 4" names."""
    first, last = map(int, re.findall(r"\d+", words))
    return [item for item in sheet.items if first <= item.number <= last]


def _utterances(columns: list[str], known: Listed, channels: list[str]) -> Iterator[Utterance]:
    start = float(columns[0])
    if columns[1].startswith("items "):
        for item in _items(columns[1], known.sheet):
            asked = [f"{start}", known.sheet.asks, item.ask[0], *columns[2:]]
            answered = [f"{start + 3}", item.by, _good(item), *columns[2:]]
            yield from _utterances(asked, known, channels)
            yield from _utterances(answered, known, channels)
            start += 6
        return
    _, who, words, *more = columns
    pieces = words.split(" ... ")
    words = " ".join(pieces)
    found = known.heard_as(words, float(more[0]) if more else None)
    for other, evidence in zip(more[1::2], more[2::2], strict=True):
        assert other in {one.text for one in known.said}, f"not in the sheet: {other}"
        found |= {one: float(evidence) for one in known.said if one.text == other}
    bursts = []
    for piece in pieces:
        bursts.append((start, start + seconds_of(piece)))
        start = bursts[-1][1] + PAUSE
    yield Utterance(
        channel=channels.index(who) if channels else 0,
        start=bursts[0][0],
        end=bursts[-1][1],
        bursts=tuple(bursts),
        text=words,
        heard=as_heard(found),
    )


def as_heard(found: Mapping[Sayable, float]) -> tuple[Heard, ...]:
    """As the recogniser gives it: each phrase and value once, best first."""
    best: dict[tuple[int, float | None], Heard] = {}
    for sayable, evidence in sorted(found.items(), key=lambda one: -one[1]):
        best.setdefault((sayable.phrase, sayable.value), Heard(sayable, evidence))
    return tuple(best.values())[:KEPT]


def _good(item: Item) -> str:
    if item.value is None:
        return item.confirm[0]
    return spoken_forms(_middle(item), item.value.quantity)[0]


def _middle(item: Item) -> float:
    value = item.value
    assert value is not None and value.min is not None and value.max is not None
    return value.min + round((value.max - value.min) / 2 / value.step) * value.step


def _expected(line: str, sheet: Sheet) -> Iterator[Expected]:
    if line.startswith("items "):
        status = line.rsplit(maxsplit=1)[-1]
        for item in _items(line, sheet):
            value = f"{_middle(item):g}" if item.value and status == "confirmed" else "-"
            yield Expected(line, ("item", item.key, status, "-", value), {}, "")
        return
    row, _, note = line.partition(" note=")
    columns = row.split()
    times = {key: float(value) for key, _, value in (c.partition("=") for c in columns if "=" in c)}
    fields = [column for column in columns if "=" not in column]
    yield Expected(line, (*fields, *"-----")[:5], times, note)


def differs(expected: Expected, event: Event) -> str:
    """What is wrong with a row; "" if nothing is."""
    if shown(event) != expected.fields:
        return " ".join(shown(event))
    moments = {"at": event.start, "until": event.end}
    wrong = [
        f"{key}={moments[key]:.2f}"
        for key, seconds in expected.times.items()
        if abs(moments[key] - seconds) > CLOSE
    ]
    if expected.note and expected.note not in event.note:
        wrong.append(f"note={event.note}")
    return " ".join(wrong)


def shown(event: Event) -> tuple[str, ...]:
    value = "" if event.value is None else f"{event.value:g}"
    columns = (event.kind, event.item, event.status, ";".join(event.flags), value)
    return tuple(column or "-" for column in columns)
