"""The log of a run while it goes: the same chain, one line at a time, each on the disk at once.

    header              as in folder.py, with `state: live`; audio is not known yet
    {record: row …}     a row of the log: its number `row`, `change` (added, corrected, withdrawn)
                        and, unless withdrawn, the event as record.py writes it
    {record: …}         what else happened: clock, gap, warning, advice, question, spoken,
                        interrupted, taken-up, difference; the functions below make them
    {record: final …}   the final pass follows: as many events as `rows` says
    events              as in a log of a finished recording, with the number of the row that each is
    closing record      as in folder.py, with the digests of the audio and the clock as they are now

A line is written whole and synced before anything is said of it. What a power cut leaves is whole
lines and at most one torn one, which `read_live` leaves out. Nothing is ever taken away: when a log
is taken up again, whatever stands behind its last whole line is copied to a file `events.torn-N`
beside it, the copy is synced, and only then is the log cut back to its whole lines; its first new
line says how many bytes that was and their SHA-256. A final pass that was broken off stays where it
is too: the last `final` record counts.
"""

import os
import threading
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, Self

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.chain import START, Link, append, open_line, split_lines
from voxlog.log.digest import bytes_sha256
from voxlog.log.disk import keep_tail, sync_directory, write_all
from voxlog.log.folder import disk_errors
from voxlog.log.record import decode_event, encode_event

__all__ = [
    "LIVE",
    "LiveLog",
    "LiveRun",
    "advice_record",
    "clock_record",
    "final_pass",
    "gap_record",
    "note_record",
    "parse_live",
    "read_live",
    "row_record",
    "spoken_record",
]

LIVE = "live"
"""The header's `state` of a log that was written while the run went."""

RowChange = Literal["added", "corrected", "withdrawn"]
NoteKind = Literal["warning", "question", "interrupted", "difference"]


def row_record(number: int, change: RowChange, event: Event | None = None) -> dict[str, Any]:
    """A row's change; event: the row as it is now, None for one that is withdrawn."""
    fields = {} if event is None else encode_event(event)
    return {"record": "row", "row": number, "change": change, **fields}


def clock_record(sample: int, monotonic_ns: int, wall_ns: int) -> dict[str, Any]:
    """Three clocks at one moment; in microseconds, since RFC 8785 ends at 2**53."""
    return {
        "record": "clock",
        "sample": sample,
        "monotonic_us": monotonic_ns // 1000,
        "wall_us": wall_ns // 1000,
    }


def gap_record(sample: int, samples: int, text: str) -> dict[str, Any]:
    """Audio that is missing: so many samples from this one on, and why."""
    return {"record": "gap", "sample": sample, "samples": samples, "text": text}


def advice_record(sample: int, step: str, items: Iterable[str], text: str) -> dict[str, Any]:
    """What was open when the words of a gate began. items: their numbers."""
    return {"record": "advice", "sample": sample, "step": step, "items": list(items), "text": text}


def spoken_record(start_sample: int, end_sample: int, text: str) -> dict[str, Any]:
    """What voxlog itself said or sounded, and when."""
    return {
        "record": "spoken",
        "start_sample": start_sample,
        "end_sample": end_sample,
        "text": text,
    }


def note_record(kind: NoteKind, sample: int, text: str, **counts: int) -> dict[str, Any]:
    """Anything else in words: a warning, a question and its answer, an interruption, a summary."""
    return {**counts, "record": kind, "sample": sample, "text": text}


@dataclass(frozen=True, slots=True)
class LiveRun:
    """A live log as far as it is whole.

    header: None where not even that is whole. records: all lines after it, without what the chain
    adds. link: where the next line joins. whole_bytes: length of the whole lines. tail: what stands
    behind them. is_closed: the run was finished.
    """

    header: Mapping[str, Any] | None
    records: tuple[Mapping[str, Any], ...]
    link: Link
    whole_bytes: int
    tail: bytes
    is_closed: bool

    def rows(self) -> dict[int, Event]:
        """Number to row, as last reported."""
        rows: dict[int, Event] = {}
        for number, event in self._changes():
            if event is None:
                rows.pop(number, None)
            else:
                rows[number] = event
        return rows

    def first_rows(self) -> dict[int, Event]:
        """Number to row, as first reported; also those withdrawn since."""
        rows: dict[int, Event] = {}
        for number, event in self._changes():
            if event is not None:
                rows.setdefault(number, event)
        return rows

    @property
    def next_number(self) -> int:
        """The number of the next new row."""
        return max((number for number, _ in self._changes()), default=0) + 1

    def _changes(self) -> Iterable[tuple[int, Event | None]]:
        for record in self.records:
            if record.get("record") == "row":
                fields = {k: v for k, v in record.items() if k not in ("record", "row", "change")}
                yield record["row"], decode_event(fields) if fields else None


def read_live(path: Path) -> LiveRun:
    """What is whole of a live log; InputError if the file cannot be read."""
    try:
        return parse_live(path.read_bytes())
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check it") from error


def parse_live(data: bytes) -> LiveRun:
    """The whole lines at the beginning of a live log; the first bad one ends them."""
    link: Link = START
    size = 0
    records: list[dict[str, Any]] = []
    is_closed = False
    for line in split_lines(data):
        record = open_line(line)
        if record is None or is_closed or not _joins(record, link):
            break
        records.append({k: v for k, v in record.items() if k not in ("n", "prev", "digest")})
        is_closed = record.get("closed") is True
        link, size = Link(link.n + 1, bytes_sha256(line)), size + len(line)
    header = records[0] if records else None
    return LiveRun(header, tuple(records[1:]), link, size, data[size:], is_closed)


def _joins(record: Mapping[str, Any], link: Link) -> bool:
    return (record.get("n"), record.get("prev")) == (link.n, link.prev)


def final_pass(records: Sequence[Mapping[str, Any]]) -> int:
    """Index of the first event of the last final pass; 0 for a log without one."""
    marked = [index for index, record in enumerate(records) if record.get("record") == "final"]
    return marked[-1] + 1 if marked else 0


class LiveLog:
    """The end of a live log, where lines are added; any thread may add some.

    fault: why lines wait in memory ("" while none do): the disk is full or fails. They are tried
    again with the next, in their order, so that the run goes on and nothing is lost.
    """

    def __init__(self, path: Path, descriptor: int, link: Link, size: int) -> None:
        self.path = path
        self.fault = ""
        self._descriptor = descriptor
        self._link = link
        self._size = size
        self._is_torn = False
        self._waiting: list[Mapping[str, Any]] = []
        self._lock = threading.Lock()

    @classmethod
    def create(cls, path: Path, header: Mapping[str, Any]) -> Self:
        """Begin a log. header: as header_of makes it; InputError if the file cannot be made."""
        with disk_errors(path):
            log = cls(path, os.open(path, _FLAGS | os.O_EXCL, 0o666), START, 0)
            _claim(log._descriptor, path)
            log._begin(header)
            sync_directory(path.parent)
        return log

    @classmethod
    def take_up(
        cls, path: Path, header: Mapping[str, Any] | None, sample: int
    ) -> tuple[Self, LiveRun]:
        """Go on with a log that was broken off, and what is whole of it.

        header: written if not even the log's own is whole; None for a log that is known to have
        one. sample: where the audio was broken off, 0 if that is not known yet. InputError for a
        log that was finished, or that another program is writing.
        """
        if read_live(path).is_closed:
            raise InputError(f"{path}: this run was finished; there is nothing to take up")
        with disk_errors(path):
            descriptor = os.open(path, _FLAGS, 0o666)
            _claim(descriptor, path)
            run = read_live(path)
            torn = keep_tail(path, run.tail) if run.tail else {}
            log = cls(path, descriptor, run.link, run.whole_bytes)
            os.ftruncate(descriptor, run.whole_bytes)
            if run.header is None and header is not None:
                log._begin(header)
        log.append({"record": "taken-up", "sample": sample, **torn})
        return log, run

    def append(self, *records: Mapping[str, Any]) -> bool:
        """Add lines; True when they, and all that waited, are on the disk.

        ValueError for a record that the chain cannot carry, before any of them is added.
        """
        for record in records:
            append(record, START)
        with self._lock:
            self._waiting += records
            return self._write()

    def finish(
        self,
        rows: Sequence[tuple[int, Event]],
        files: Mapping[str, str],
        audio: Sequence[str],
        clock: Mapping[str, Any],
    ) -> None:
        """Write the final pass and close the chain; InputError if the disk does not take it.

        rows: number and event, in order of time. files: digests of the folder's other files. audio:
        digests of the recording's files. clock: as run.json has it.
        """
        events = [{**encode_event(event), "row": number} for number, event in rows]
        final = {"record": "final", "rows": len(events)}
        with self._lock:
            before = self._link.n - 1 + len(self._waiting)
            closing = {
                "closed": True,
                "count": before + 1 + len(events),
                "files": dict(files),
                "audio": list(audio),
                "clock": dict(clock),
            }
            waited = len(self._waiting)
            self._waiting += [final, *events, closing]
            if not self._write():
                del self._waiting[waited:]
                raise InputError(f"{self.path}: {self.fault}; free some space and resume the run")

    def close(self) -> None:
        """Let go of the file; what waits is tried a last time."""
        with self._lock:
            if self._descriptor >= 0:
                self._write()
                os.close(self._descriptor)
                self._descriptor = -1

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _begin(self, header: Mapping[str, Any]) -> None:
        """OSError passes through: without its header a log is none."""
        line, self._link = append({**header, "state": LIVE}, START)
        write_all(self._descriptor, line)
        self._size = len(line)

    def _write(self) -> bool:
        if not self._waiting:
            return True
        lines, link = [], self._link
        for record in self._waiting:
            line, link = append(record, link)
            lines.append(line)
        data = b"".join(lines)
        try:
            if self._is_torn:
                os.ftruncate(self._descriptor, self._size)
            self._is_torn = True
            write_all(self._descriptor, data)
            self._is_torn = False
        except OSError as error:
            self.fault = f"the log cannot be written ({error.strerror})"
            return False
        self.fault = ""
        self._link, self._size = link, self._size + len(data)
        self._waiting.clear()
        return True


_FLAGS = os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_CLOEXEC", 0)


def _claim(descriptor: int, path: Path) -> None:
    """Only one program writes a log. The claim ends with the program, however that ends."""
    try:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(descriptor)
        raise InputError(f"{path}: another program records this run; end that one first") from None
    except (ImportError, OSError):  # Windows; a file system without locks
        return
