"""The lines of review.jsonl and what they say. Pure: bytes in, a Review or its first fault out.

The lines are chained as those of events.jsonl (log/chain.py), and joined to it: the header's `prev`
is the SHA-256 of the closing record's whole line.

    header                 format, version, and `log`: the digest of the log's closing record
    {record: decision …}   decision.py
    {record: signature …}  signature.py: signs everything before it and closes the section
    {record: section …}    what follows a signature starts a new section, linked to the last one by
                           `signed`, the digest of the line before
    {record: taken-up …}   a line was cut off by a power cut; what there was of it is in the file
                           that this names

review.head holds n and digest of the last line, so that a cut tail shows: {"digest":…,"n":…}
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import rfc8785

from voxlog.log.chain import Link, Problem, check_joined, open_line, split_lines
from voxlog.log.digest import bytes_sha256
from voxlog.review.decision import Decision, decode_decision
from voxlog.review.signature import Signature, decode_signature

__all__ = [
    "FORMAT",
    "FORMAT_VERSION",
    "HEAD",
    "REVIEW",
    "Kept",
    "LogEnd",
    "Review",
    "Section",
    "format_head",
    "parse_review",
]

REVIEW = "review.jsonl"
HEAD = "review.head"
FORMAT = "voxlog-review"
# 1: header, decisions, signatures, sections.
FORMAT_VERSION = 1

# The header is written alone, so that the power can fail only between it and the first head.
_LINES_WITHOUT_HEAD = 1


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the review up to its signatures. number: from 1."""

    number: int
    decisions: tuple[Decision, ...] = ()
    signatures: tuple[Signature, ...] = ()


@dataclass(frozen=True, slots=True)
class Review:
    """All that was decided and signed, oldest first. sections: none for a run not reviewed."""

    sections: tuple[Section, ...] = ()

    @property
    def decisions(self) -> tuple[Decision, ...]:
        """Every decision ever made, also those overtaken by a later one; see outcome.py."""
        return tuple(each for section in self.sections for each in section.decisions)

    @property
    def signatures(self) -> tuple[Signature, ...]:
        """Every signature, those of earlier sections too."""
        return tuple(each for section in self.sections for each in section.signatures)

    @property
    def is_signed(self) -> bool:
        """Whether all there is stands under a signature."""
        return bool(self.sections and self.sections[-1].signatures)


class LogEnd(NamedTuple):
    """The closed log that a review is of: SHA-256 of its last line, its seal, its rows."""

    line_sha256: str
    seal: str
    rows: int


class Kept(NamedTuple):
    """What review.jsonl holds.

    review, link, last_digest: of the whole lines; link: where the next line joins. whole_bytes:
    their length. tail: what a power cut left of a line. is_behind: review.head does not know the
    last lines yet. problem: "" or the first fault, with file and line; then the rest is empty.
    signature_lines: the line of each signature, from 1. torn: name and SHA-256 of each file that a
    torn line was copied to.
    """

    review: Review = Review()
    link: Link = Link(0, "")
    last_digest: str = ""
    whole_bytes: int = 0
    tail: bytes = b""
    is_behind: bool = False
    problem: str = ""
    signature_lines: tuple[int, ...] = ()
    torn: tuple[tuple[str, str], ...] = ()


def format_head(n: int, digest: str) -> bytes:
    """What stands in review.head when line n (from 0) is the last one."""
    return rfc8785.dumps({"n": n, "digest": digest}) + b"\n"


def parse_review(
    data: bytes, head: bytes | None, log: LogEnd, *, is_thorough: bool = False
) -> Kept:
    """Everything that review.jsonl says; head: None if there is no such file.

    is_thorough: check every line's own digest. Without, each line is held by the `prev` of the
    next, and the last by its own digest, which is as good against any change but that of somebody
    who makes the chain anew, and eight times faster.
    """
    lines = split_lines(data)
    start = Link(0, log.line_sha256)
    problem = None
    if is_thorough or not _is_joined(lines, start):
        problem = check_joined(lines, start)
    whole = len(lines)
    if problem and problem.line == len(lines) and _may_be_torn(problem.line - 1, head):
        whole, problem = len(lines) - 1, None
    if problem:
        return _fault(problem.line, _explain(problem, lines, log))
    records = [json.loads(line) for line in lines[:whole]]
    if text := _head_problem(records, head):
        return Kept(problem=text)
    reading = _Reading(log)
    for number, record in enumerate(records, 1):
        try:
            reading.read(record)
        except ValueError as error:
            return _fault(number, f"changed: {error}")
    size = sum(map(len, lines[:whole]))
    return Kept(
        review=reading.review(),
        link=Link(whole, bytes_sha256(lines[whole - 1])) if whole else start,
        last_digest=reading.last_digest,
        whole_bytes=size,
        tail=data[size:],
        is_behind=bool(records) and head != format_head(whole - 1, reading.last_digest),
        signature_lines=tuple(reading.signature_lines),
        torn=tuple(reading.torn),
    )


def _is_joined(lines: Sequence[bytes], start: Link) -> bool:
    """Whether each line has its number and the digest of the one before, and the last its own."""
    if lines and open_line(lines[-1]) is None:
        return False
    prev = start.prev
    for n, line in enumerate(lines):
        try:
            record = json.loads(line)
        except (ValueError, RecursionError):
            return False
        if not isinstance(record, dict) or (record.get("n"), record.get("prev")) != (n, prev):
            return False
        if not isinstance(record.get("digest"), str):
            return False
        prev = bytes_sha256(line)
    return True


def _fault(line: int, text: str) -> Kept:
    return Kept(problem=f"{REVIEW} line {line}: {text}")


def _explain(problem: Problem, lines: Sequence[bytes], log: LogEnd) -> str:
    """A header that does not fit the log may be as it was, and the log another one."""
    header = open_line(lines[0]) if problem.line == 1 else None
    if header is not None and header["n"] == 0 and header["prev"] != log.line_sha256:
        return f"{problem.fault}: not the review of this log, or one of the two was written anew"
    return f"{problem.fault}: {problem.text}"


def _may_be_torn(n: int, head: bytes | None) -> bool:
    """Whether line n was never told to be kept: a head written after it would know it."""
    known = _parse_head(head) if head is not None else None
    return (head is None and n < _LINES_WITHOUT_HEAD) or (known is not None and known[0] < n)


def _parse_head(head: bytes) -> tuple[int, str] | None:
    try:
        said = json.loads(head)
        known = said["n"], said["digest"]
        is_as_written = type(known[0]) is int and format_head(*known) == head
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    return known if is_as_written else None


def _head_problem(records: Sequence[Mapping[str, Any]], head: bytes | None) -> str:
    """A head behind the last line is what a power cut may leave; anything else is a change."""
    if head is None:
        is_new = len(records) <= _LINES_WITHOUT_HEAD
        return "" if is_new else f"{HEAD}: missing; it says which line is the last"
    known = _parse_head(head)
    if known is None:
        return f"{HEAD}: changed: not as voxlog writes it"
    n, digest = known
    if not 0 <= n < len(records):
        return f"{REVIEW} line {len(records) + 1}: missing: {HEAD} knows {n + 1} lines"
    if records[n]["digest"] != digest:
        return f"{HEAD}: changed: line {n + 1} of {REVIEW} has another digest"
    return ""


class _Reading:
    """Takes the records in order; ValueError for one that cannot follow those before it."""

    def __init__(self, log: LogEnd) -> None:
        self.last_digest = ""
        self.signature_lines: list[int] = []
        self.torn: list[tuple[str, str]] = []
        self._log = log
        self._rows = log.rows
        self._sections: list[tuple[list[Decision], list[Signature]]] = []

    def review(self) -> Review:
        sections = enumerate(self._sections, 1)
        return Review(tuple(Section(n, tuple(one), tuple(two)) for n, (one, two) in sections))

    def read(self, record: Mapping[str, Any]) -> None:
        fields = {k: v for k, v in record.items() if k not in ("record", "n", "prev", "digest")}
        kind = record.get("record")
        if record["n"] == 0:
            self._begin(fields)
        elif kind == "decision":
            self._decide(decode_decision(fields))
        elif kind == "signature":
            self._sign(decode_signature(fields), record["n"])
        elif kind == "section":
            self._open(fields)
        elif kind != "taken-up":
            raise ValueError("not a record of a review")
        if "torn" in fields:
            self.torn.append((str(fields["torn"]), str(fields.get("torn_sha256"))))
        self.last_digest = record["digest"]

    def _begin(self, fields: Mapping[str, Any]) -> None:
        if (fields.get("format"), fields.get("version")) != (FORMAT, FORMAT_VERSION):
            raise ValueError(f"not the header of a {FORMAT} of version {FORMAT_VERSION}")
        if fields.get("log") != self._log.seal:
            raise ValueError("the review is of another log")
        self._sections.append(([], []))

    def _decide(self, decision: Decision) -> None:
        decisions, signatures = self._sections[-1]
        if signatures:
            raise ValueError("a decision after a signature, and no new section")
        if decision.row is None:
            self._rows += 1
        elif decision.row > self._rows:
            raise ValueError(f"a decision on row {decision.row}; there are {self._rows}")
        decisions.append(decision)

    def _sign(self, signature: Signature, n: int) -> None:
        _, signatures = self._sections[-1]
        statement = signature.statement
        if statement.section != len(self._sections):
            raise ValueError(f"the signature is of section {statement.section}")
        if statement.log != self._log.seal:
            raise ValueError("the signature is of another log")
        if (statement.review_n, statement.review_digest) != (n - 1, self.last_digest):
            raise ValueError("the signature is of another review")
        if statement.signer in {each.statement.signer for each in signatures}:
            raise ValueError(f"{statement.signer} signs section {statement.section} twice")
        if statement.key in {each.statement.key for each in signatures}:
            raise ValueError(f"one key signs section {statement.section} twice")
        signatures.append(signature)
        self.signature_lines.append(n + 1)

    def _open(self, fields: Mapping[str, Any]) -> None:
        number = len(self._sections) + 1
        if not self._sections[-1][1]:
            raise ValueError("a new section, and the last one was not signed")
        if (fields.get("section"), fields.get("signed")) != (number, self.last_digest):
            raise ValueError(f"section {number} is not linked to the one before")
        self._sections.append(([], []))
