"""What was heard, stretch by stretch, with what it may have been: utterances.jsonl for people.

The share of an alternative says how well it fits the sound beside the others and beside speech that
the sheet does not list: exp(evidence) over the sum of all, where "none of these" has evidence 0.
Only sound counts here; the log's own probability also knows what was to be expected.
"""

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from voxlog.errors import InputError

__all__ = ["Alternative", "Line", "read_lines"]

SHOWN_ALTERNATIVES = 5
LEAST_SHARE = 0.005
_WORDS_OF_ACTS = {
    "challenge": "challenge of {}",
    "confirm": "answer to {}",
    "deny": "denial of {}",
    "value": "value of {}",
    "announce": "announcement of {}",
    "go": "moment of {}",
    "callout": "call {}",
    "elapsed": "call {}",
    "reading": "reading {}",
}


class Alternative(NamedTuple):
    """text: the words; what: what they would be ("answer to 7"); share: 0 to 1."""

    text: str
    what: str
    share: float


class Line(NamedTuple):
    """A stretch of speech. channel: from 1; start, end: seconds; text: free transcription."""

    channel: int
    start: float
    end: float
    text: str
    alternatives: tuple[Alternative, ...]


def read_lines(text: str, name: str) -> tuple[Line, ...]:
    """The lines of utterances.jsonl in order of time; InputError names a line that is none.

    An answer that was only surmised is no stretch of its own: it lies in that of its challenge.
    """
    lines = []
    for number, line in enumerate(filter(None, text.split("\n")), 1):
        try:
            record = json.loads(line)
            if not record.get("surmised"):
                lines.append(_line(record))
        except (AttributeError, KeyError, TypeError, ValueError, RecursionError, OverflowError):
            raise InputError(
                f"{name} line {number}: not an utterance; run voxlog verify on the folder"
            ) from None
    return tuple(sorted(lines, key=lambda one: (one.start, one.channel)))


def _line(record: Mapping[str, Any]) -> Line:
    return Line(
        channel=int(record["channel"]),
        start=_seconds(record["start_ms"]),
        end=_seconds(record["end_ms"]),
        text=str(record["text"]),
        alternatives=tuple(_alternatives(record["heard"])),
    )


def _seconds(milliseconds: Any) -> float:
    return int(milliseconds) / 1000


def _alternatives(heard: Iterable[Mapping[str, Any]]) -> Iterable[Alternative]:
    """Best first, those that say the same as one before left out."""
    scored: dict[tuple[str, str], float] = {}
    for one in heard:
        key = (str(one["text"]), _what(str(one["act"]), str(one["step"])))
        scored[key] = max(scored.get(key, -math.inf), int(one["evidence_millinats"]) / 1000)
    top = max(0.0, *scored.values()) if scored else 0.0
    total = math.exp(-top) + sum(math.exp(nats - top) for nats in scored.values())
    best = sorted(scored.items(), key=lambda pair: -pair[1])
    for (text, what), nats in best[:SHOWN_ALTERNATIVES]:
        share = math.exp(nats - top) / total
        if share >= LEAST_SHARE:
            yield Alternative(text, what, share)


def _what(act: str, step: str) -> str:
    return _WORDS_OF_ACTS.get(act, act.replace("-", " ")).format(step)
