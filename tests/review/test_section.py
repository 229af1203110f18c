"""The quick reading of a review finds whatever the thorough one finds, and says the same of it."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.log.chain import Link, append, split_lines
from voxlog.review.review_log import HEAD, REVIEW, read_log_end
from voxlog.review.section import LogEnd, format_head, parse_review


@pytest.fixture(scope="module")
def whole(signed_runs: dict[str, Path]) -> tuple[bytes, bytes, LogEnd]:
    run = signed_runs["logged"]
    return (run / REVIEW).read_bytes(), (run / HEAD).read_bytes(), read_log_end(run)


def check_alike(data: bytes, head: bytes | None, log: LogEnd) -> None:
    quick = parse_review(data, head, log)
    thorough = parse_review(data, head, log, is_thorough=True)
    assert quick == thorough
    assert quick.problem or quick.tail


@given(data=st.data())
def test_a_changed_byte(whole: tuple[bytes, bytes, LogEnd], data: st.DataObject) -> None:
    good, head, log = whole
    changed = bytearray(good)
    changed[data.draw(st.integers(0, len(good) - 1))] ^= data.draw(st.integers(1, 255))
    check_alike(bytes(changed), head, log)


@given(data=st.data())
def test_lines_dropped_and_repeated(
    whole: tuple[bytes, bytes, LogEnd], data: st.DataObject
) -> None:
    good, head, log = whole
    lines = split_lines(good)
    places = data.draw(st.lists(st.integers(0, len(lines) - 1), max_size=len(lines) + 2))
    changed = [lines[place] for place in places]
    if changed != lines:
        check_alike(b"".join(changed), head, log)


@given(place=st.integers(0, 10_000))
def test_a_cut(whole: tuple[bytes, bytes, LogEnd], place: int) -> None:
    good, head, log = whole
    check_alike(good[: place % len(good)], head, log)


def rewritten(data: bytes, log: LogEnd, n: int, fields: dict[str, Any]) -> tuple[bytes, bytes]:
    """One record with other fields, and every digest made anew; the review and its head."""
    link, made, line = Link(0, log.line_sha256), b"", b""
    for record in map(json.loads, split_lines(data)):
        payload = {k: v for k, v in record.items() if k not in ("n", "prev", "digest")}
        line, link = append(payload | (fields if record["n"] == n else {}), link)
        made += line
    return made, format_head(link.n - 1, json.loads(line)["digest"])


@pytest.mark.parametrize(
    ("n", "fields", "problem"),
    [
        (0, {"version": 2}, "line 1: changed: not the header of a voxlog-review"),
        (0, {"log": "0" * 64}, "line 1: changed: the review is of another log"),
        (1, {"record": "remark"}, "line 2: changed: not a record of a review"),
        (1, {"row": 9}, "line 2: changed: a decision on row 9; there are 4"),
        (1, {"row": 0}, "line 2: changed: not a decision"),
        (1, {"reviewer": "Ann"}, "line 2: changed: not a decision"),
        (1, {"event": 5}, "line 2: changed: not an event"),
        (3, {"statement": {}}, "line 4: changed: not a signature"),
        (3, {"signature": "00"}, "line 4: changed: the signature contradicts itself"),
        (5, {"section": 3}, "line 6: changed: section 2 is not linked to the one before"),
        (5, {"signed": "0" * 64}, "line 6: changed: section 2 is not linked to the one before"),
    ],
)
def test_a_chain_made_anew_is_read_for_what_it_says(
    whole: tuple[bytes, bytes, LogEnd], n: int, fields: dict[str, Any], problem: str
) -> None:
    data, _, log = whole
    made, head = rewritten(data, log, n, fields)
    assert parse_review(made, head, log).problem.startswith(f"{REVIEW} {problem}")


@pytest.mark.parametrize(
    "head", [b"", b"{}", b"[]\n", b"null\n", b'{"digest":"","n":"0"}\n', b"\xff"]
)
def test_a_head_that_is_none_is_named(whole: tuple[bytes, bytes, LogEnd], head: bytes) -> None:
    data, _, log = whole
    assert parse_review(data, head, log).problem == "review.head: changed: not as voxlog writes it"


@pytest.mark.parametrize(
    "line", [b"[]\n", b"null\n", b"5\n", b"{}\n", b'{"n":0}\n', b"\xff\n", b"[" * 5000 + b"\n"]
)
def test_lines_that_are_no_records_are_named(
    whole: tuple[bytes, bytes, LogEnd], line: bytes
) -> None:
    data, head, log = whole
    for changed in (line + data, data + line, line, b"".join([*split_lines(data)[:2], line])):
        check_alike(changed, head, log)
