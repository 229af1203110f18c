"""What was heard while a run goes, line by line beside the log: a run taken up again knows it.

    {"segment": [channel, start, end], "heard": [utterance ...], "instead_of": [[channel, s], ...]}
    {"segment": [channel, start, end], "heard": null}      passed over, to be listened to later

The log's rows alone do not do: rows are made of all that was heard (live/follower.py). Nothing here
is proof of anything, and it goes when the run is finished: what is missing of it, or cannot be
read, is listened to again. Segments are in samples at 16 kHz, utterances in seconds.
"""

import json
from base64 import b64decode
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from voxlog.audio import RATE
from voxlog.audio.segment import Segment
from voxlog.live.hearing import News
from voxlog.sheet.phrases import Phrase
from voxlog.speech.record import surmised_field, voice_field
from voxlog.speech.utterance import Heard, Sayable, Utterance

__all__ = ["HEARD", "HeardBefore", "HeardFile", "read_heard"]

HEARD = "heard.jsonl"
DOUBTFUL_S = 10.0
"""The last so many seconds are listened to again: what followed might have changed them."""


class HeardFile:
    """Takes down what is heard. A disk that takes nothing is the log's to complain of."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def heard(self, segment: Segment, news: News) -> None:
        line = {
            "segment": _place(segment),
            "heard": [_encoded(one) for one in news.heard],
            "instead_of": [[one.channel, one.start] for one in news.instead_of],
        }
        self._write(line)

    def passed_over(self, segment: Segment) -> None:
        self._write({"segment": _place(segment), "heard": None})

    def _write(self, line: dict[str, Any]) -> None:
        with suppress(OSError), self._path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(line) + "\n")


class HeardBefore(NamedTuple):
    """What a run that was broken off had heard.

    utterances: of speech that began before `until`, a sample at 16 kHz. From there on the audio is
    to be listened to again.
    """

    utterances: tuple[Utterance, ...] = ()
    until: int = 0


def read_heard(path: Path, phrases: Sequence[Phrase]) -> HeardBefore:
    """As much as can be read and fits the sheet's phrases; nothing of a file that is not there."""
    try:
        lines = path.read_bytes().splitlines(keepends=True)
    except OSError:
        return HeardBefore()
    segments: dict[tuple[int, int, int], bool] = {}
    utterances: dict[tuple[int, float], Utterance] = {}
    for line in lines:
        try:
            written: Any = json.loads(line) if line.endswith(b"\n") else None
            channel, start, end = map(int, written["segment"])
            heard = [_decoded(one, phrases) for one in written["heard"] or ()]
            replaced = [(int(c), float(s)) for c, s in written.get("instead_of", ())]
        except (ValueError, TypeError, KeyError, IndexError, AttributeError):
            break
        segments[channel, start, end] = written["heard"] is not None
        for place in replaced:
            utterances.pop(place, None)
        utterances |= {(one.channel, one.start): one for one in heard}
    until = _sure_until(segments)
    known = [one for one in utterances.values() if one.start * RATE < until]
    return HeardBefore(tuple(sorted(known, key=lambda one: (one.start, one.channel))), until)


def _sure_until(segments: dict[tuple[int, int, int], bool]) -> int:
    """A sample in no segment, before which all was heard and nothing can change any more."""
    last = max((end for _, _, end in segments), default=0)
    waiting = [start for (_, start, _), is_heard in segments.items() if not is_heard]
    until = min([max(0, last - round(DOUBTFUL_S * RATE)), *waiting])
    while across := [start for _, start, end in segments if start < until < end]:
        until = min(across)
    return until


def _place(segment: Segment) -> list[int]:
    return [segment.channel, segment.start, segment.end]


def _encoded(one: Utterance) -> dict[str, Any]:
    return {
        "channel": one.channel,
        "start": one.start,
        "end": one.end,
        "bursts": one.bursts,
        "text": one.text,
        **voice_field(one),
        **surmised_field(one),
        "heard": [_encoded_words(heard) for heard in one.heard],
    }


def _encoded_words(heard: Heard) -> list[Any]:
    said = heard.sayable
    return [said.text, said.phrase, said.value, said.written, said.chance, float(heard.evidence)]


def _decoded(written: dict[str, Any], phrases: Sequence[Phrase]) -> Utterance:
    """ValueError or another of its kind for what is no utterance of this sheet."""
    return Utterance(
        channel=int(written["channel"]),
        start=float(written["start"]),
        end=float(written["end"]),
        bursts=tuple((float(start), float(end)) for start, end in written["bursts"]),
        text=str(written["text"]),
        heard=tuple(_decoded_words(written["heard"], phrases)),
        voice=b64decode(written.get("voice", ""), validate=True),
        surmised=bool(written.get("surmised", False)),
    )


def _decoded_words(written: Iterable[Any], phrases: Sequence[Phrase]) -> Iterable[Heard]:
    for text, phrase, value, form, chance, evidence in written:
        if not 0 <= int(phrase) < len(phrases):
            raise ValueError("a phrase that the sheet has not")
        number = None if value is None else float(value)
        yield Heard(
            Sayable(str(text), int(phrase), number, str(form), float(chance)), float(evidence)
        )
