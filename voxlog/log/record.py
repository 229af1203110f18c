"""An event as the log keeps it: whole numbers and text only.

Fractions would make the log's bytes depend on how a program prints them, so

- a time is the index of a sample on a clock of 16,000 a second (start_sample, end_sample), counted
  from the start of the recording, rounded half up; t_ms and t_end_ms say the same in milliseconds
  for people, made from the sample index, rounded half up;
- a probability is a whole number of thousandths, rounded half up;
- a value is text, the shortest decimal that is the same number, without an exponent ("18000",
  "2.5").

What is read back is therefore the event on this grid: `rounded` gives it.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from voxlog.follow.event import FLAGS, KINDS, STATUSES, Event

__all__ = [
    "CLOCK_HZ",
    "decode_event",
    "encode_event",
    "format_decimal",
    "rounded",
    "samples_to_ms",
    "seconds_to_ms",
    "thousandths",
]

CLOCK_HZ = 16_000
_SAMPLES_A_MS = CLOCK_HZ // 1000
_TEXTS = ("phase", "item", "position", "heard", "unit", "note")


def encode_event(event: Event) -> dict[str, Any]:
    """The payload of one log line. ValueError for an event outside its type's ranges."""
    start, end = _samples(event.start), _samples(event.end)
    if end < start:
        raise ValueError(f"the event ends before it starts: {event}")
    return {
        "start_sample": start,
        "end_sample": end,
        "t_ms": samples_to_ms(start),
        "t_end_ms": samples_to_ms(end),
        "kind": event.kind,
        **{name: getattr(event, name) for name in _TEXTS},
        "status": event.status,
        "flags": [flag for flag in FLAGS if flag in event.flags],
        "value": None if event.value is None else format_decimal(event.value),
        "p_thousandths": thousandths(event.p),
    }


def decode_event(payload: Mapping[str, Any]) -> Event:
    """The event of one log line; ValueError for a payload that encode_event does not write."""
    try:
        value = payload["value"]
        event = Event(
            start=payload["start_sample"] / CLOCK_HZ,
            end=payload["end_sample"] / CLOCK_HZ,
            kind=payload["kind"],
            **{name: payload[name] for name in _TEXTS},
            status=payload["status"],
            flags=tuple(payload["flags"]),
            value=None if value is None else float(value),
            p=payload["p_thousandths"] / 1000,
        )
        is_known = event.kind in KINDS and event.status in (None, *STATUSES)
        if not is_known or encode_event(event) != payload:
            raise ValueError("the record contradicts itself")
    except (KeyError, TypeError) as error:
        raise ValueError(f"not an event: {error}") from error
    return event


def rounded(event: Event) -> Event:
    """The event on the log's grid of samples and thousandths; rounding it again changes nothing."""
    return replace(
        event,
        start=_samples(event.start) / CLOCK_HZ,
        end=_samples(event.end) / CLOCK_HZ,
        flags=tuple(flag for flag in FLAGS if flag in event.flags),
        value=None if event.value is None else float(format_decimal(event.value)),
        p=thousandths(event.p) / 1000,
    )


def seconds_to_ms(seconds: float) -> int:
    """Milliseconds as the log has them: by way of the sample, so that every view agrees."""
    return samples_to_ms(_samples(seconds))


def samples_to_ms(samples: int) -> int:
    return (samples + _SAMPLES_A_MS // 2) // _SAMPLES_A_MS


def thousandths(p: float) -> int:
    if not 0 <= p <= 1:
        raise ValueError(f"a probability is between 0 and 1, not {p}")
    return math.floor(p * 1000 + 0.5)


def format_decimal(value: float) -> str:
    """The shortest decimal that reads back as the same number: 18000, 2.5, -0.04, never 1e3."""
    if not math.isfinite(value):
        raise ValueError(f"a spoken value is a finite number, not {value}")
    if value == 0:
        return "0"
    text = f"{Decimal(repr(float(value))):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _samples(seconds: float) -> int:
    if not (math.isfinite(seconds) and seconds >= 0):
        raise ValueError(f"a time is counted from the start of the recording, not {seconds}")
    return math.floor(seconds * CLOCK_HZ + 0.5)
