"""The run folder: everything known about one run, whole or not there at all.

    sheet.yaml         the run sheet, byte for byte as it was used
    run.json           what, when, with which model, versions, settings, and the warnings
    utterances.jsonl   what was heard, with scores: one JSON object a line
    events.jsonl       the log, hash-chained (chain.py)
    events.csv         the same for people (table.py)

The files are built in `<folder>.partial` beside the folder's place, flushed to the disk, and the
directory is renamed at the very end, so that a stop, a power cut or a full disk never leaves a
folder that looks whole. events.jsonl is closed last, with the digests of the other files in it.
"""

import errno
import json
import os
import shutil
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import rfc8785

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.chain import FORMAT, FORMAT_VERSION, START, append
from voxlog.log.digest import bytes_sha256
from voxlog.log.disk import sync_directory
from voxlog.log.record import CLOCK_HZ, encode_event
from voxlog.log.table import format_table

__all__ = [
    "CHAINED",
    "FILES",
    "RUN_FORMAT",
    "RUN_VERSION",
    "AudioFile",
    "RunFacts",
    "RunFolder",
    "clock_of",
    "disk_errors",
    "folder_files",
    "header_of",
    "refuse_taken",
    "start_of",
    "sync_directory",
]

CHAINED = "events.jsonl"
# The files that the closing record of CHAINED vouches for.
FILES = ("sheet.yaml", "run.json", "utterances.jsonl", "events.csv")

RUN_FORMAT = "voxlog-run"
# 1: sheet, model, audio, clock, versions, settings, warnings.
RUN_VERSION = 1

# EFBIG is what a limit on a file's size gives; to the user it is the same thing.
_FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


@dataclass(frozen=True, slots=True)
class AudioFile:
    """One file of the recording as it was read. samples: for each channel, at rate_hz."""

    path: Path
    sha256: str
    rate_hz: int
    channels: int
    samples: int


@dataclass(frozen=True, slots=True)
class RunFacts:
    """What the folder says about the run beside what was heard. Digests are SHA-256 in hex.

    start: the moment of the first sample, with its zone; None when nobody knows it.
    start_source: who says so ("option", "bext", "clock"), "" when start is None.
    drift_ppb: by how much the recording's clock ran slow against the true one, in thousand
    millionths; 0 where nobody measured it.
    versions: of the programs that made the log, by name; "voxlog" is one of them.
    settings: what the user chose, as plain JSON values.
    """

    sheet_id: str
    sheet_title: str
    sheet_yaml: bytes
    model: str
    model_sha256: str
    audio: tuple[AudioFile, ...]
    versions: Mapping[str, str]
    start: datetime | None = None
    start_source: str = ""
    drift_ppb: int = 0
    settings: Mapping[str, Any] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()


class RunFolder:
    """A run folder in the making, for use in a with statement.

        with RunFolder.create(path) as folder:
            ...                                    # the long work
            folder.save(facts, utterances, events)

    Leaving the block without a finished save removes what was begun. `partial` is where the
    folder's files are written until then; what else belongs into it goes there too.
    """

    def __init__(self, path: Path, partial: Path) -> None:
        self.path = path
        self.partial = partial

    @classmethod
    def create(cls, path: Path) -> Self:
        """Take the place before the long work starts; InputError if it is taken or unwritable."""
        path = Path(os.path.abspath(path))
        with disk_errors(path):
            refuse_taken(path)
            partial = path.with_name(path.name + ".partial")
            path.parent.mkdir(parents=True, exist_ok=True)
            try:
                partial.mkdir()
            except FileExistsError:
                raise InputError(
                    f"{partial}: another run is being written here, or one was stopped; "
                    "wait for it, or remove this folder"
                ) from None
        return cls(path, partial)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        shutil.rmtree(self.partial, ignore_errors=True)

    def save(
        self,
        facts: RunFacts,
        utterances: Iterable[Mapping[str, Any]],
        events: Sequence[Event],
    ) -> None:
        """Write every file and put the folder in its place.

        utterances: JSON values only, in order of time. InputError when the disk is full or the
        place was taken meanwhile; nothing is left behind then.
        """
        files = folder_files(facts, self.path, utterances, events)
        with disk_errors(self.path):
            for name, data in files.items():
                _write_through(self.partial / name, data)
            digests = {name: bytes_sha256(data) for name, data in files.items()}
            _write_through(self.partial / CHAINED, _log(facts, events, digests))
            sync_directory(self.partial)
            if self.path.exists():
                self.path.rmdir()  # refused by the system unless it is still empty
            os.rename(self.partial, self.path)
        # The folder is whole and in its place; at worst a power cut takes it back to .partial.
        with suppress(OSError):
            sync_directory(self.path.parent)


def folder_files(
    facts: RunFacts,
    path: Path,
    utterances: Iterable[Mapping[str, Any]],
    events: Sequence[Event],
) -> dict[str, bytes]:
    """What stands in the files beside the log; path: the folder's place."""
    return {
        "sheet.yaml": facts.sheet_yaml,
        "run.json": _pretty_json(_describe_run(facts, path)),
        "utterances.jsonl": b"".join(rfc8785.dumps(dict(each)) + b"\n" for each in utterances),
        "events.csv": format_table(events, facts.start, facts.drift_ppb).encode(),
    }


def _log(facts: RunFacts, events: Sequence[Event], digests: Mapping[str, str]) -> bytes:
    closing = {"closed": True, "count": len(events), "files": dict(digests)}
    payloads = [header_of(facts), *map(encode_event, events), closing]
    lines, link = [], START
    for payload in payloads:
        line, link = append(payload, link)
        lines.append(line)
    return b"".join(lines)


def header_of(facts: RunFacts) -> dict[str, Any]:
    """The payload of the log's first line."""
    return {
        "format": FORMAT,
        "version": FORMAT_VERSION,
        "sheet": bytes_sha256(facts.sheet_yaml),
        "model": facts.model_sha256,
        "audio": [file.sha256 for file in facts.audio],
        "voxlog": facts.versions["voxlog"],
        "clock": clock_of(facts),
    }


def clock_of(facts: RunFacts) -> dict[str, Any]:
    """What is known of the recording's clock."""
    start = None if facts.start is None else facts.start.isoformat()
    drift = {"drift_ppb": facts.drift_ppb} if facts.drift_ppb else {}
    return {"hz": CLOCK_HZ, "start": start, "start_source": facts.start_source, **drift}


def start_of(clock: Mapping[str, Any]) -> datetime | None:
    """The start that clock_of wrote; None where nobody knew it.

    KeyError, TypeError or ValueError for what clock_of does not write: without its zone a start
    could be any of several moments.
    """
    text = clock["start"]
    start = None if text is None else datetime.fromisoformat(text)
    if start is not None and start.tzinfo is None:
        raise ValueError(f"no zone: {text}")
    return start


def _describe_run(facts: RunFacts, folder: Path) -> dict[str, Any]:
    return {
        "format": RUN_FORMAT,
        "version": RUN_VERSION,
        "sheet": {
            "file": "sheet.yaml",
            "id": facts.sheet_id,
            "title": facts.sheet_title,
            "sha256": bytes_sha256(facts.sheet_yaml),
        },
        "model": {"name": facts.model, "sha256": facts.model_sha256},
        "clock": clock_of(facts),
        "audio": [_describe_audio(file, folder) for file in facts.audio],
        "versions": dict(facts.versions),
        "settings": dict(facts.settings),
        "warnings": list(facts.warnings),
    }


def _describe_audio(file: AudioFile, folder: Path) -> dict[str, Any]:
    """The path is relative to the folder: the two often move together, and it names no home."""
    return {
        "path": Path(os.path.relpath(file.path, folder)).as_posix(),
        "sha256": file.sha256,
        "rate_hz": file.rate_hz,
        "channels": file.channels,
        "samples": file.samples,
    }


def _pretty_json(value: Mapping[str, Any]) -> bytes:
    return (json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()


def refuse_taken(path: Path) -> None:
    """InputError where a run folder cannot be made because something stands there."""
    if path.is_symlink() or (path.exists() and not path.is_dir()):
        raise InputError(f"{path}: a file or a link stands there; name another folder")
    if path.is_dir() and any(path.iterdir()):
        raise InputError(f"{path}: the folder is not empty; name another one, or empty it")


def _write_through(path: Path, data: bytes) -> None:
    """To the disk, not only to its cache: some file systems say only then that they are full."""
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


@contextmanager
def disk_errors(path: Path) -> Iterator[None]:
    """What the system says of a run folder's place, as an InputError."""
    try:
        yield
    except OSError as error:
        if error.errno in _FULL:
            text = f"{path}: disk full, nothing was written; free some space or name another disk"
        else:
            text = f"{path}: cannot be written ({error.strerror}); name another folder"
        raise InputError(text) from error
