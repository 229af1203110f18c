"""The hash chain of events.jsonl: what makes a change to the log visible. Pure: bytes in and out.

A line is one JSON object in the canonical form of RFC 8785, ended by one line feed. Beside its
payload it carries

    n        the record's number: 0 the header, 1.. the events, the last one the closing record
    prev     SHA-256 of the whole line before, line feed included; 64 zeros in the header
    digest   SHA-256 of this line as it would read without `digest` (no line feed)

so that ``sed -n 3p events.jsonl | sha256sum`` prints the `prev` of line 4. `prev` alone proves
that two neighbours fit, but not which of them was touched, and nothing vouches for the last line;
`digest` closes both gaps. Payloads hold integers and text, never fractions: see record.py.

The header names the format; the closing record says ``closed: true`` and how many events there
are. A log without it was cut short, so a half-written log never looks whole.

What the chain cannot show: a log rewritten from some line to the end, every digest made anew.
For that, keep the digest of the closing record somewhere else (verify reports it as the seal).
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal, NamedTuple

import rfc8785

__all__ = [
    "FORMAT",
    "FORMAT_VERSION",
    "START",
    "Fault",
    "Link",
    "Problem",
    "append",
    "check_joined",
    "check_lines",
    "open_line",
    "split_lines",
]

FORMAT = "voxlog-log"
# 1: header, events, closing record with the digests of the folder's other files.
# 2: a log may have been written while the run went (header: `state: live`, see live_log.py); then
#    lines with `record` stand before the events, and the closing record has audio and clock.
FORMAT_VERSION = 2
READABLE = (1, 2)

Fault = Literal["changed", "missing", "repeated", "reordered", "torn", "not closed", "trailing"]

_RESERVED = frozenset({"n", "prev", "digest"})


class Link(NamedTuple):
    """Where the next line joins the chain: its number, and the SHA-256 of the line before."""

    n: int
    prev: str


START = Link(0, "0" * 64)


class Problem(NamedTuple):
    """The first bad line (counted from 1), what is wrong with it, and the same in words."""

    line: int
    fault: Fault
    text: str


def append(payload: Mapping[str, Any], link: Link = START) -> tuple[bytes, Link]:
    """Seal one payload into its line, and say where the line after it joins.

    ValueError for a payload that uses the chain's own names or that RFC 8785 cannot carry (NaN,
    whole numbers of 2**53 and more, text that is not UTF-8).
    """
    if taken := _RESERVED.intersection(payload):
        raise ValueError(f"the chain keeps these names for itself: {', '.join(sorted(taken))}")
    line = _seal({**payload, "n": link.n, "prev": link.prev})
    return line, _advance(link, line)


def open_line(line: bytes) -> dict[str, Any] | None:
    """The record in one line; None unless the line is, byte for byte, as it was sealed."""
    try:
        record = json.loads(line)
        if not isinstance(record, dict):
            return None
        sealed = _seal({key: value for key, value in record.items() if key != "digest"})
    except (ValueError, RecursionError):
        return None
    return record if sealed == line else None


def split_lines(data: bytes) -> list[bytes]:
    """Cut at line feeds only, which stay on; bytes.splitlines would cut at carriage returns too."""
    pieces = data.split(b"\n")
    lines = [piece + b"\n" for piece in pieces[:-1]]
    return [*lines, pieces[-1]] if pieces[-1] else lines


def check_lines(lines: Iterable[bytes]) -> Problem | None:
    """The first bad line of a log, or None when it is whole from header to closing record."""
    every = list(lines)
    link = START
    for index, line in enumerate(every):
        record, problem = _open_joined(index, every, link)
        if problem:
            return problem
        if index == 0 and not _is_known(record):
            return Problem(
                1, "changed", f"not the header of a {FORMAT} of version {FORMAT_VERSION}"
            )
        if record.get("closed") is True:
            return _check_end(index, every, record)
        link = _advance(link, line)
    return Problem(
        len(every) + 1, "not closed", f"the log stops after {len(every)} lines, not closed"
    )


def check_joined(lines: Sequence[bytes], start: Link) -> Problem | None:
    """The first bad line of a chain that may end anywhere; start: where its first line joins."""
    link = start
    for index, line in enumerate(lines):
        _, problem = _open_joined(index, lines, link)
        if problem:
            return problem
        link = _advance(link, line)
    return None


def _open_joined(
    index: int, lines: Sequence[bytes], link: Link
) -> tuple[dict[str, Any], Problem | None]:
    """One line's record, and what is wrong with it or with its place."""
    record = open_line(lines[index])
    if record is None:
        return {}, _unsealed(index, lines)
    return record, _misplaced(index, lines, record, link)


def _seal(record: dict[str, Any]) -> bytes:
    digest = hashlib.sha256(rfc8785.dumps(record)).hexdigest()
    return rfc8785.dumps({**record, "digest": digest}) + b"\n"


def _advance(link: Link, line: bytes) -> Link:
    return Link(link.n + 1, hashlib.sha256(line).hexdigest())


def _unsealed(index: int, lines: Sequence[bytes]) -> Problem:
    is_last = index == len(lines) - 1
    if is_last and not lines[index].endswith(b"\n"):
        return Problem(index + 1, "torn", "the line stops short")
    return Problem(index + 1, "changed", "the line does not have its own digest any more")


def _misplaced(
    index: int, lines: Sequence[bytes], record: Mapping[str, Any], link: Link
) -> Problem | None:
    """A sound line in the wrong place, or one that does not fit the line before."""
    n = record.get("n")
    if type(n) is not int:
        return Problem(index + 1, "changed", "the line has no number")
    if n > link.n:
        return _ahead(index, lines, n, link)
    if n < link.n:
        if lines[index] in lines[:index]:
            return Problem(index + 1, "repeated", f"record {n} stands here again")
        return Problem(index + 1, "changed", f"record {link.n} was replaced by another record {n}")
    if record.get("prev") != link.prev:
        return _unjoined(index, lines)
    return None


def _is_known(header: Mapping[str, Any]) -> bool:
    version = header.get("version")
    return header.get("format") == FORMAT and type(version) is int and version in READABLE


def _ahead(index: int, lines: Sequence[bytes], n: int, link: Link) -> Problem:
    later = (open_line(line) for line in lines[index + 1 :])
    if any(record is not None and record.get("n") == link.n for record in later):
        return Problem(index + 1, "reordered", f"record {n} stands before record {link.n}")
    lost = f"record {link.n} is" if n == link.n + 1 else f"records {link.n} to {n - 1} are"
    return Problem(index + 1, "missing", f"{lost} missing here")


def _unjoined(index: int, lines: Sequence[bytes]) -> Problem:
    """Two neighbours do not fit, though each has its own digest: somebody sealed one anew.

    If the lines after this one fit on to it, this one is as it was, and the one before changed.
    """
    following = open_line(lines[index + 1]) if index + 1 < len(lines) else None
    own = hashlib.sha256(lines[index]).hexdigest()
    is_this = index == 0 or (following is not None and following.get("prev") != own)
    number = index + 1 if is_this else index
    return Problem(number, "changed", "the line was changed and given a new digest")


def _check_end(index: int, lines: Sequence[bytes], closing: Mapping[str, Any]) -> Problem | None:
    if index == 0 or closing.get("count") != index - 1:
        return Problem(index + 1, "changed", "the closing record counts another number of events")
    if index + 1 == len(lines):
        return None
    if lines[index + 1] in lines[: index + 1]:
        return Problem(index + 2, "repeated", "a line stands again after the closing record")
    return Problem(index + 2, "trailing", "there is more after the closing record")
