"""The folder of a run that is recorded live: there from the first second, finished at the end.

    sheet.yaml, run.json            at the start, and again at the end when everything is known
    audio/channel-N.au              while the run goes; channel-N.flac at its end
    events.jsonl                    line by line (live_log.py)
    utterances.jsonl, events.csv    at the end

A folder whose log is not closed is one of a run that goes on or was broken off: verifying says so,
and resuming finishes it. Everything here can be done again after it was broken off.
"""

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.digest import bytes_sha256
from voxlog.log.disk import replace_through, sync_directory
from voxlog.log.folder import (
    CHAINED,
    RunFacts,
    clock_of,
    disk_errors,
    folder_files,
    header_of,
    refuse_taken,
    start_of,
)
from voxlog.log.live_log import LiveLog
from voxlog.log.people import People, people_in

__all__ = ["Begun", "begin_folder", "finish_folder", "put_in_place", "read_begun"]


@dataclass(frozen=True, slots=True)
class Begun:
    """What a run was begun with. positions: 0-based channel to position. source: of the audio.

    people: codes of who is in it.
    """

    model: str
    positions: Mapping[int, str]
    source: str
    start: datetime | None
    people: People


def begin_folder(path: Path, facts: RunFacts) -> LiveLog:
    """Make the folder and begin its log; InputError if the place is taken or cannot be written.

    facts: as far as they are known; the settings name `positions` and `source`.
    """
    path = Path(os.path.abspath(path))
    with disk_errors(path):
        refuse_taken(path)
        path.mkdir(parents=True, exist_ok=True)
        files = folder_files(facts, path, (), ())
        for name in ("sheet.yaml", "run.json"):
            replace_through(path / name, files[name])
    return LiveLog.create(path / CHAINED, header_of(facts))


def read_begun(path: Path) -> Begun:
    """What a run that was broken off was begun with; InputError if its folder does not say."""
    try:
        run = json.loads((path / "run.json").read_bytes())
        settings = run["settings"]
        return Begun(
            model=run["model"]["name"],
            positions={int(number) - 1: name for number, name in settings["positions"].items()},
            source=settings["source"],
            start=start_of(run["clock"]),
            people=people_in(settings),
        )
    except OSError as error:
        raise InputError(
            f"{path}: not the folder of a run (run.json: {error.strerror}); name one that is"
        ) from error
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError(
            f"{path / 'run.json'}: not of a run that was recorded live, or damaged; "
            "name the folder of one that was broken off"
        ) from error


def finish_folder(
    path: Path,
    log: LiveLog,
    facts: RunFacts,
    utterances: Iterable[Mapping[str, Any]],
    rows: Sequence[tuple[int, Event]],
) -> None:
    """Write the files beside the log, close the log, and put the folder in its place.

    path: the folder's place. log: open, in the folder as it is being built. facts: as they are at
    the end, with the audio. rows: number and event of the final pass, in order of time.
    InputError when the disk is full; the run is not lost then and can be finished later.
    """
    partial = log.path.parent
    files = folder_files(facts, path, utterances, [event for _, event in rows])
    with disk_errors(path):
        for name, data in files.items():
            replace_through(partial / name, data)
        sync_directory(partial)
    digests = {name: bytes_sha256(data) for name, data in files.items()}
    log.finish(rows, digests, [file.sha256 for file in facts.audio], clock_of(facts))
    log.close()
    put_in_place(partial, path)


def put_in_place(partial: Path, path: Path) -> None:
    """Give a finished folder its name; nothing to do where it has it."""
    if partial == path:
        return
    with disk_errors(path):
        if path.exists():
            path.rmdir()  # refused by the system unless it is empty
        os.rename(partial, path)
    with suppress(OSError):
        sync_directory(path.parent)
