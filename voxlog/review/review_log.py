"""review.jsonl in the run folder: what was decided, appended line by line and never changed.

    read_review(folder)                 -> Review; empty for a run that nobody has reviewed
    append_decision(folder, decision)   returns when the decision is on the disk for good

Any number of processes may append at once: each holds the file's lock (flock) while it reads, adds
and syncs. A line is on the disk before review.head is replaced by one that knows it. What a power
cut leaves is at most one torn line, which reading leaves out; the next line that is added first
copies it to a file `review.torn-N` beside it, as with a live log. A review that was changed or cut
is read by nobody and added to by nobody: InputError names the line.

The form of the lines is in section.py. Decisions after a signature start a new section.
"""

import fcntl
import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from voxlog.errors import InputError
from voxlog.log.chain import append, open_line, split_lines
from voxlog.log.digest import bytes_sha256
from voxlog.log.disk import keep_tail, replace_through, sync_directory, write_all
from voxlog.log.folder import CHAINED
from voxlog.log.live_log import LIVE
from voxlog.review.decision import Decision, encode_decision, format_moment
from voxlog.review.section import (
    FORMAT,
    FORMAT_VERSION,
    HEAD,
    REVIEW,
    Kept,
    LogEnd,
    Review,
    format_head,
    parse_review,
)
from voxlog.review.signature import Signature, encode_signature

__all__ = [
    "HEAD",
    "REVIEW",
    "Review",
    "append_decision",
    "append_signature",
    "read_kept",
    "read_log_end",
    "read_review",
]


def read_review(folder: Path) -> Review:
    """The review of a run folder.

    InputError if the run is not finished, or the review was changed or cannot be read.
    """
    kept = read_kept(folder, read_log_end(folder))
    if kept.problem:
        raise _damaged(folder, kept)
    return kept.review


def append_decision(folder: Path, decision: Decision) -> None:
    """Add a decision; it is on the disk when this returns.

    InputError for a row that is not there, a run that is not finished, a review that was changed,
    or a disk that does not take it.
    """
    log = read_log_end(folder)
    with _open_review(folder, log) as end:
        review = end.kept.review
        rows = log.rows + sum(each.row is None for each in review.decisions)
        if decision.row is not None and decision.row > rows:
            raise InputError(f"row {decision.row}: there are {rows} rows; name one of them")
        end.append([*_new_section(end, decision), _record("decision", encode_decision(decision))])


def append_signature(folder: Path, sign: Callable[[Kept], Signature]) -> Signature:
    """Add a signature. sign: makes it, of the review as it is while nobody else can add to it."""
    with _open_review(folder, read_log_end(folder)) as end:
        signature = sign(end.kept)
        end.append([_record("signature", encode_signature(signature))])
    return signature


def read_log_end(folder: Path) -> LogEnd:
    """How the log ends; InputError unless it is there and closed. Does not check the log."""
    path = folder / CHAINED
    try:
        lines = split_lines(path.read_bytes())
    except FileNotFoundError as error:
        raise InputError(f"{folder}: not a run folder (no {CHAINED}); name one") from error
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check it") from error
    closing = open_line(lines[-1]) if lines else None
    if closing is None or closing.get("closed") is not True:
        raise InputError(
            f"{path}: not closed, or damaged at its end; finish the run first (voxlog resume)"
        )
    rows = _count_rows(lines, closing)
    if rows is None:
        raise InputError(f"{path}: damaged; see voxlog verify, and restore it from a copy")
    return LogEnd(bytes_sha256(lines[-1]), closing["digest"], rows)


def read_kept(folder: Path, log: LogEnd, *, is_thorough: bool = False) -> Kept:
    """What review.jsonl and review.head hold, faults and all; InputError if unreadable.

    is_thorough: see parse_review.
    """
    try:
        descriptor = os.open(folder / REVIEW, os.O_RDONLY | os.O_CLOEXEC)
    except FileNotFoundError:
        is_lost = (folder / HEAD).exists()
        return Kept(problem=f"{REVIEW}: missing, though there is a {HEAD}" if is_lost else "")
    except OSError as error:
        raise InputError(f"{folder / REVIEW}: cannot be read ({error.strerror})") from error
    with os.fdopen(descriptor, "rb") as file:
        fcntl.flock(file, fcntl.LOCK_SH)
        return parse_review(file.read(), _read_head(folder), log, is_thorough=is_thorough)


def _count_rows(lines: Sequence[bytes], closing: Mapping[str, Any]) -> int | None:
    """The rows of a log; of one that was recorded live, those of its final pass. None: damaged."""
    header = open_line(lines[0])
    if header is None:
        return None
    if header.get("state") != LIVE:
        return int(closing["count"])
    for back, line in enumerate(reversed(lines)):
        # In text a quote has a backslash before it, so this stands nowhere else.
        if b'"record":"final"' in line:
            return None if open_line(line) is None else back - 1
    return None


def _read_head(folder: Path) -> bytes | None:
    try:
        return (folder / HEAD).read_bytes()
    except FileNotFoundError:
        return None


def _damaged(folder: Path, kept: Kept) -> InputError:
    return InputError(f"{folder}: {kept.problem}; see voxlog verify, and restore it from a copy")


def _record(kind: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    return {"record": kind, **fields}


def _new_section(end: "_ReviewEnd", decision: Decision) -> list[dict[str, Any]]:
    """What stands before a decision on a review that is signed."""
    kept = end.kept
    if not kept.review.is_signed:
        return []
    opened = {
        "section": len(kept.review.sections) + 1,
        "signed": kept.last_digest,
        "opened_by": decision.reviewer,
        "at": format_moment(decision.at),
    }
    return [_record("section", opened)]


@contextmanager
def _open_review(folder: Path, log: LogEnd) -> Iterator["_ReviewEnd"]:
    """The end of the review, for as long as nobody else can add to it."""
    try:
        descriptor = os.open(folder / REVIEW, _FLAGS, 0o666)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX)
            end = _ReviewEnd(folder, log, descriptor)
            end.settle()
            yield end
        finally:
            os.close(descriptor)
    except OSError as error:
        raise InputError(
            f"{folder / REVIEW}: cannot be written ({error.strerror}); nothing was added: "
            "check the disk and its permissions, and try again"
        ) from error


_FLAGS = os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC


class _ReviewEnd:
    """The end of a review whose lock is held. OSError passes through, InputError for damage."""

    def __init__(self, folder: Path, log: LogEnd, descriptor: int) -> None:
        self.kept = Kept()
        self._folder = folder
        self._log = log
        self._descriptor = descriptor

    def settle(self) -> None:
        """Know what is there, and make it ready for the next line: the header, a torn line."""
        self._read()
        if self.kept.link.n == 0:
            sync_directory(self._folder)
        if self.kept.tail:
            torn = keep_tail(self._folder / REVIEW, self.kept.tail)
            os.ftruncate(self._descriptor, self.kept.whole_bytes)
        else:
            torn = {}
        if self.kept.link.n == 0:
            header = {"format": FORMAT, "version": FORMAT_VERSION, "log": self._log.seal}
            self.append([{**header, **torn}])
            self._read()
        elif torn:
            self.append([_record("taken-up", torn)])
            self._read()

    def append(self, records: Sequence[Mapping[str, Any]]) -> None:
        """Add lines. `kept` is as it was before."""
        data, last, link = b"", b"", self.kept.link
        for record in records:
            last, link = append(record, link)
            data += last
        try:
            write_all(self._descriptor, data)
        except OSError:
            # Only what this call wrote goes, and nobody was told that it is kept.
            os.ftruncate(self._descriptor, self.kept.whole_bytes)
            raise
        self._put_head(last)

    def _put_head(self, last: bytes) -> None:
        record = json.loads(last)
        try:
            replace_through(self._folder / HEAD, format_head(record["n"], record["digest"]))
            sync_directory(self._folder)
        except OSError as error:
            raise InputError(
                f"{self._folder / HEAD}: cannot be written ({error.strerror}); what was added is "
                "kept, but a cut end would not show: check the disk"
            ) from error

    def _read(self) -> None:
        size = os.fstat(self._descriptor).st_size
        data = os.pread(self._descriptor, size, 0)
        self.kept = parse_review(data, _read_head(self._folder), self._log)
        if self.kept.problem:
            raise _damaged(self._folder, self.kept)
