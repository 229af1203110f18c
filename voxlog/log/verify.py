"""Prove that a run folder is as it was written: chain, digests, table, and the audio if it is here.

What a whole folder proves, and what not, is said in chain.py.
"""

import json
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from typing import Any, NamedTuple

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.chain import check_lines, open_line, split_lines
from voxlog.log.digest import bytes_sha256, file_sha256
from voxlog.log.folder import CHAINED, FILES, start_of
from voxlog.log.live_log import LIVE, final_pass
from voxlog.log.record import decode_event
from voxlog.log.table import format_table

__all__ = ["Report", "read_events", "verify"]


@dataclass(frozen=True, slots=True)
class Report:
    """What verify found.

    problems: what is wrong, the first bad line or file first; empty when the folder is whole.
    event_count: rows of the log; 0 when the chain is broken.
    seal: the digest of the closing record; a copy kept elsewhere shows even a log written anew.
    unchecked: audio files that are not where the log last saw them, so nothing is known.
    """

    problems: tuple[str, ...]
    event_count: int = 0
    seal: str = ""
    unchecked: tuple[str, ...] = ()

    @property
    def is_whole(self) -> bool:
        return not self.problems


# What the header says of the run; run.json says the same.
_HEADER = ("sheet", "model", "audio", "voxlog", "clock")


class _Log(NamedTuple):
    header: dict[str, Any]
    events: list[Event]
    closing: dict[str, Any]


def verify(folder: Path) -> Report:
    """Check every file of a run folder. InputError if it is no run folder or cannot be read."""
    try:
        log, problem = _read_log(folder)
        if log is None:
            return Report((problem,))
        problems = [
            *_check_table(folder, log),
            *_check_files(folder, log),
        ]
        in_run, unchecked = _check_run(folder, log)
    except OSError as error:
        raise InputError(
            f"{error.filename}: cannot be read ({error.strerror}); check its permissions"
        ) from error
    return Report((*problems, *in_run), len(log.events), log.closing["digest"], tuple(unchecked))


def read_events(folder: Path) -> list[Event]:
    """The events of a run folder; InputError if its log is not whole."""
    try:
        log, problem = _read_log(folder)
    except OSError as error:
        raise InputError(f"{folder}: cannot be read ({error.strerror}); check it") from error
    if log is None:
        raise InputError(f"{folder}: {problem}; log the recording again")
    return log.events


def _read_log(folder: Path) -> tuple[_Log | None, str]:
    """The log, or None and the first problem in it."""
    if not (folder / CHAINED).is_file():
        raise InputError(
            f"{folder}: not a run folder (no {CHAINED} in it); name a folder that has one"
        )
    lines = split_lines((folder / CHAINED).read_bytes())
    if problem := check_lines(lines):
        return None, f"{CHAINED} line {problem.line}: {problem.fault}: {problem.text}"
    header, *records, closing = filter(None, map(open_line, lines))
    if not _is_framed(header, closing):
        return None, f"{CHAINED} line 1: changed: the header or the closing record lacks something"
    skipped = 0
    if header.get("state") == LIVE:
        skipped = final_pass(records)
        if skipped == 0 or records[skipped - 1].get("rows") != len(records) - skipped:
            return None, f"{CHAINED}: changed: the final pass is not whole"
        header |= {name: closing[name] for name in ("audio", "clock") if name in closing}
        records = [
            {name: value for name, value in record.items() if name != "row"} for record in records
        ]
    events = []
    for number, record in enumerate(records[skipped:], skipped + 2):
        payload = {name: record[name] for name in record.keys() - {"n", "prev", "digest"}}
        try:
            events.append(decode_event(payload))
        except ValueError as error:
            return None, f"{CHAINED} line {number}: changed: {error}"
    return _Log(header, events, closing), ""


def _is_framed(header: dict[str, Any], closing: dict[str, Any]) -> bool:
    """Whether the first and last record have what the checks below read."""
    try:
        start_of(header["clock"])
        return set(closing["files"]) == set(FILES) and {*_HEADER} <= header.keys()
    except (KeyError, TypeError, ValueError):
        return False


def _check_table(folder: Path, log: _Log) -> list[str]:
    """events.csv is made from the log, so it is compared line by line with the log's own table."""
    path = folder / "events.csv"
    if not path.is_file():
        return ["events.csv: missing"]
    drift = log.header["clock"].get("drift_ppb", 0)
    expected = format_table(log.events, start_of(log.header["clock"]), drift)
    pairs = zip_longest(split_lines(expected.encode()), split_lines(path.read_bytes()))
    for number, (right, found) in enumerate(pairs, 1):
        if right != found:
            what = "missing" if found is None else "not in the log" if right is None else "changed"
            return [f"events.csv line {number}: {what}: the log says otherwise"]
    return []


def _check_files(folder: Path, log: _Log) -> list[str]:
    problems = []
    for name, digest in sorted(log.closing["files"].items()):
        path = folder / name
        if name == "events.csv":
            continue
        if not path.is_file():
            problems.append(f"{name}: missing")
        elif file_sha256(path) != digest:
            problems.append(f"{name}: changed since the log was closed")
    return problems


def _check_run(folder: Path, log: _Log) -> tuple[list[str], list[str]]:
    """Problems, and audio files that are not there; a changed run.json is named elsewhere."""
    path = folder / "run.json"
    data = path.read_bytes() if path.is_file() else b""
    if bytes_sha256(data) != log.closing["files"]["run.json"]:
        return [], []
    try:
        run = json.loads(data)
        audio = [(file["path"], file["sha256"]) for file in run["audio"]]
        said = {
            "sheet": run["sheet"]["sha256"],
            "model": run["model"]["sha256"],
            "audio": [digest for _, digest in audio],
            "voxlog": run["versions"]["voxlog"],
            "clock": run["clock"],
        }
    except (KeyError, TypeError, ValueError):
        return ["run.json: not as voxlog writes it"], []
    problems = _check_header(log, said)
    unchecked = [name for name, _ in audio if not (folder / name).is_file()]
    for name, digest in audio:
        if name not in unchecked and file_sha256(folder / name) != digest:
            problems.append(f"{name}: not the recording that was logged")
    return problems, unchecked


def _check_header(log: _Log, said: dict[str, Any]) -> list[str]:
    problems = [
        f"run.json: its {name} is not the one in the header of {CHAINED}"
        for name in _HEADER
        if log.header[name] != said[name]
    ]
    if log.closing["files"]["sheet.yaml"] != log.header["sheet"]:
        problems.append(f"sheet.yaml: not the sheet in the header of {CHAINED}")
    return problems
