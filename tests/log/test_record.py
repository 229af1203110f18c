"""The log's form of an event loses nothing beyond its grid of samples and thousandths."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.follow.event import FLAGS, KINDS, STATUSES, Event
from voxlog.log.record import (
    decode_event,
    encode_event,
    format_decimal,
    rounded,
    seconds_to_ms,
    thousandths,
)

TEXTS = st.text("a é\r\n\t\0\"';,=+-@\u2028\U0001f600", max_size=8)
SECONDS = st.floats(0, 100_000)
VALUES = st.none() | st.integers(-9, 99_999).map(float) | st.floats(-1e9, 1e9)


@st.composite
def events(draw: st.DrawFn) -> Event:
    start, end = sorted((draw(SECONDS), draw(SECONDS)))
    return Event(
        start=start,
        end=end,
        kind=draw(st.sampled_from(KINDS)),
        phase=draw(TEXTS),
        item=draw(TEXTS),
        position=draw(TEXTS),
        status=draw(st.none() | st.sampled_from(STATUSES)),
        flags=tuple(flag for flag in FLAGS if draw(st.booleans())),
        heard=draw(TEXTS),
        value=draw(VALUES),
        unit=draw(TEXTS),
        p=draw(st.floats(0, 1)),
        note=draw(TEXTS),
    )


@given(events())
def test_what_is_read_back_is_the_event_on_the_grid(event: Event) -> None:
    payload = json.loads(json.dumps(encode_event(event)))
    back = decode_event(payload)
    assert back == rounded(event)
    assert rounded(back) == back
    assert encode_event(back) == payload
    assert abs(back.start - event.start) <= 0.5 / 16_000 + 1e-9
    assert abs(back.p - event.p) <= 0.0005 + 1e-9
    assert back.value == event.value


@given(events())
def test_a_payload_has_no_fractions(event: Event) -> None:
    def parts(value: Any) -> list[Any]:
        return (
            [part for each in value for part in parts(each)] if isinstance(value, list) else [value]
        )

    assert not any(isinstance(p, float) for v in encode_event(event).values() for p in parts(v))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (18000.0, "18000"),
        (2.5, "2.5"),
        (0.1, "0.1"),
        (0.30000000000000004, "0.30000000000000004"),
        (-0.0, "0"),
        (-0.04, "-0.04"),
        (1e22, "10000000000000000000000"),
        (1e-7, "0.0000001"),
        (100.0, "100"),
    ],
)
def test_values_are_shortest_decimals(value: float, text: str) -> None:
    assert format_decimal(value) == text


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_decimal_reads_back_as_the_same_number(value: float) -> None:
    assert float(format_decimal(value)) == value
    assert "e" not in format_decimal(value)


@pytest.mark.parametrize(
    ("seconds", "ms"),
    [
        (0.0, 0),
        (1.234, 1234),
        (0.0005, 1),  # half up: sample 8 is half a millisecond
        (8192.202312, 8192202),
        (21_600.001, 21_600_001),
    ],
)
def test_milliseconds(seconds: float, ms: int) -> None:
    assert seconds_to_ms(seconds) == ms


@pytest.mark.parametrize(
    ("p", "count"), [(0.0, 0), (1.0, 1000), (0.0005, 1), (0.9994, 999), (0.9996, 1000)]
)
def test_thousandths(p: float, count: int) -> None:
    assert thousandths(p) == count


GOOD = encode_event(Event(1.0, 2.0, "item", item="7", status="confirmed", value=1800.0, p=0.9))


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "items"},
        {"status": "done"},
        {"flags": ["late", "late"]},
        {"flags": ["late", "misread"]},
        {"flags": None},
        {"t_ms": 1001},
        {"start_sample": 16000.5},
        {"start_sample": -16, "t_ms": -1},
        {"end_sample": 15999, "t_end_ms": 1000},
        {"value": "1800.0"},
        {"value": 1800},
        {"p_thousandths": 1001},
        {"surprise": 1},
    ],
)
def test_a_payload_that_contradicts_itself_is_refused(change: dict[str, Any]) -> None:
    assert decode_event(GOOD).item == "7"
    with pytest.raises(ValueError, match=r"."):
        decode_event({**GOOD, **change})


@pytest.mark.parametrize("name", list(GOOD))
def test_a_payload_that_lacks_something_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        decode_event({key: value for key, value in GOOD.items() if key != name})


@pytest.mark.parametrize(
    "event",
    [
        Event(2.0, 1.0, "item"),
        Event(-0.1, 1.0, "item"),
        Event(float("nan"), 1.0, "item"),
        Event(0.0, float("inf"), "item"),
        Event(0.0, 1.0, "item", p=1.01),
        Event(0.0, 1.0, "reading", value=float("inf")),
    ],
)
def test_an_event_out_of_range_is_a_bug_and_raises(event: Event) -> None:
    with pytest.raises(ValueError, match=r"."):
        encode_event(event)
