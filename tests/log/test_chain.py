"""The chain names the first line at which a damaged log differs from the one that was written."""

import hashlib
import json
import subprocess
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.log.chain import (
    FORMAT,
    START,
    Link,
    append,
    check_lines,
    open_line,
    split_lines,
)

HEADER = {"format": FORMAT, "version": 1}
EVENTS = [{"heard": "mask on"}, {"heard": "öffnen \r\u2028 now"}, {"heard": "", "value": "18000"}]


def seal_all(payloads: list[dict[str, Any]], link: Link = START) -> list[bytes]:
    lines = []
    for payload in payloads:
        line, link = append(payload, link)
        lines.append(line)
    return lines


def make_log(events: list[dict[str, Any]] = EVENTS) -> list[bytes]:
    return seal_all([HEADER, *events, {"closed": True, "count": len(events)}])


def first_difference(right: list[bytes], damaged: list[bytes]) -> int:
    for number, (one, other) in enumerate(zip(right, damaged, strict=False), 1):
        if one != other:
            return number
    return min(len(right), len(damaged)) + 1


# A payload as the log writes it: text, whole numbers, lists, null.
PLAIN = st.text('a é\r\n\0\\"{}[],:\u2028\U0001f600', max_size=12) | st.integers(
    -(2**53) + 1, 2**53 - 1
)
PAYLOADS = st.lists(
    st.dictionaries(
        st.sampled_from(["heard", "t_ms", "flags"]), PLAIN | st.lists(PLAIN), max_size=3
    ),
    max_size=6,
)
LOGS = PAYLOADS.map(make_log)


@given(LOGS)
def test_a_log_as_written_is_whole(lines: list[bytes]) -> None:
    assert check_lines(lines) is None
    assert check_lines(split_lines(b"".join(lines))) is None


@given(LOGS, st.data())
def test_any_changed_byte_is_caught_and_its_line_named(
    lines: list[bytes], data: st.DataObject
) -> None:
    log = bytearray(b"".join(lines))
    place = data.draw(st.integers(0, len(log) - 1))
    log[place] ^= data.draw(st.integers(1, 255))
    damaged = split_lines(bytes(log))
    problem = check_lines(damaged)
    assert problem is not None
    assert problem.line == first_difference(lines, damaged)
    is_last_byte = place == len(log) - 1
    assert problem.fault == ("torn" if is_last_byte else "changed")


@given(LOGS, st.data())
def test_a_dropped_line_is_caught(lines: list[bytes], data: st.DataObject) -> None:
    index = data.draw(st.integers(0, len(lines) - 1))
    damaged = lines[:index] + lines[index + 1 :]
    problem = check_lines(damaged)
    assert problem is not None
    assert problem.line == index + 1
    assert problem.fault == ("not closed" if index == len(lines) - 1 else "missing")


@given(LOGS, st.data())
def test_a_line_repeated_anywhere_later_is_caught(lines: list[bytes], data: st.DataObject) -> None:
    index = data.draw(st.integers(0, len(lines) - 1))
    place = data.draw(st.integers(index + 1, len(lines)))
    damaged = [*lines[:place], lines[index], *lines[place:]]
    problem = check_lines(damaged)
    assert problem is not None
    assert (problem.line, problem.fault) == (place + 1, "repeated")


@given(LOGS, st.data())
def test_any_other_order_is_caught(lines: list[bytes], data: st.DataObject) -> None:
    damaged = data.draw(st.permutations(lines).filter(lambda order: order != lines))
    problem = check_lines(damaged)
    assert problem is not None
    assert (problem.line, problem.fault) == (first_difference(lines, damaged), "reordered")


@given(LOGS, st.data())
def test_a_cut_tail_is_caught_wherever_it_is_cut(lines: list[bytes], data: st.DataObject) -> None:
    log = b"".join(lines)
    damaged = split_lines(log[: data.draw(st.integers(0, len(log) - 1))])
    problem = check_lines(damaged)
    assert problem is not None
    assert problem.line == first_difference(lines, damaged)
    assert problem.fault == ("torn" if damaged and damaged[-1][-1:] != b"\n" else "not closed")


@given(LOGS, st.binary(min_size=1, max_size=40))
def test_anything_after_the_closing_record_is_caught(lines: list[bytes], tail: bytes) -> None:
    problem = check_lines(split_lines(b"".join(lines) + tail))
    assert problem is not None
    assert (problem.line, problem.fault) == (len(lines) + 1, "trailing")


def resealed(index: int, payload: dict[str, Any]) -> list[bytes]:
    """The log with one line changed by somebody who knows how to make its digest anew."""
    lines = make_log()
    prev = hashlib.sha256(lines[index - 1]).hexdigest() if index else START.prev
    lines[index] = append(payload, Link(index, prev))[0]
    return lines


FOREIGN = seal_all([HEADER, {"heard": "x"}, {"heard": "y"}, {"heard": "z"}])


@pytest.mark.parametrize(
    ("lines", "line", "fault"),
    [
        # A line made anew fits its own digest; its neighbours tell which of the two was touched.
        (resealed(1, {"heard": "mask off"}), 2, "changed"),
        (resealed(2, {"heard": "mask off"}), 3, "changed"),
        (resealed(0, {**HEADER, "sheet": "another"}), 1, "changed"),
        ([*make_log()[:2], FOREIGN[2], *make_log()[3:]], 3, "changed"),
        ([*make_log()[:2], FOREIGN[1], *make_log()[2:]], 3, "changed"),
        (seal_all([HEADER, {"closed": True, "count": 0}], Link(0, "1" * 64)), 1, "changed"),
        # A closing record made anew is bound by its count only if it can be bound by nothing else.
        (resealed(4, {"closed": True, "count": 2}), 5, "changed"),
        # Not logs at all.
        ([], 1, "not closed"),
        ([b""], 1, "torn"),
        ([b"\n"], 1, "changed"),
        ([b"[1]\n"], 1, "changed"),
        ([b'{"n":' + b"[" * 100_000 + b"\n"], 1, "changed"),
        (seal_all([{"format": "another"}, {"closed": True, "count": 0}]), 1, "changed"),
        (seal_all([{**HEADER, "version": 3}, {"closed": True, "count": 0}]), 1, "changed"),
        (seal_all([{**HEADER, "closed": True, "count": -1}]), 1, "changed"),
        # The same object in another spelling is not the line that was written.
        ([make_log()[0].replace(b":", b": "), *make_log()[1:]], 1, "changed"),
        ([make_log()[0][:-1] + b"\r\n", *make_log()[1:]], 1, "changed"),
        # Two lost lines are named as two.
        ([make_log()[0], *make_log()[3:]], 2, "missing"),
    ],
)
def test_what_else_is_no_whole_log(lines: list[bytes], line: int, fault: str) -> None:
    problem = check_lines(lines)
    assert problem is not None
    assert (problem.line, problem.fault) == (line, fault)


def test_a_rewrite_to_the_end_shows_only_in_the_seal() -> None:
    """The stated limit of an unsigned chain."""
    rewritten = make_log([{"heard": "mask off"}, *EVENTS[1:]])
    assert check_lines(rewritten) is None
    assert open_line(rewritten[-1]) != open_line(make_log()[-1])


def test_prev_is_what_sha256sum_prints_for_the_line_before() -> None:
    """Outside check: coreutils sha256sum."""
    lines = make_log()
    for before, line in pairwise(lines):
        printed = subprocess.run(["sha256sum"], input=before, capture_output=True, check=True)
        assert printed.stdout.split()[0].decode() == json.loads(line)["prev"]


def test_lines_are_in_the_canonical_form() -> None:
    """RFC 8785 section 3.2.3: members sorted by UTF-16 code units, no white space; the sample
    order of that section (CR, 1, U+0080, o-umlaut, euro, emoji, U+FB33) is from memory."""
    names = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]
    line, _ = append({"names": {name: 0 for name in names}})
    order = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]
    assert list(json.loads(line)["names"]) == order
    assert b" " not in line


@pytest.mark.parametrize(
    "payload",
    [
        {"n": 1},
        {"prev": ""},
        {"digest": ""},
        {"p": float("nan")},
        {"t": 2**53},
        {"heard": "\ud800"},
    ],
)
def test_a_payload_that_the_chain_cannot_carry_is_refused(payload: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"."):
        append(payload)
