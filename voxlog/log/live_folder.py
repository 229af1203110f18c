"""Finish the folder of a run that was recorded live: the final pass, and the folder in its place.

While the run goes the folder is built under another name, as folder.py does it, with the audio, the
sheet and the live log in it. Everything here can be done again after it was broken off.
"""

import os
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from voxlog.follow.event import Event
from voxlog.log.digest import bytes_sha256
from voxlog.log.folder import RunFacts, clock_of, disk_errors, folder_files, sync_directory
from voxlog.log.live_log import LiveLog

__all__ = ["finish_folder", "put_in_place"]


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
            _replace_through(partial / name, data)
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


def _replace_through(path: Path, data: bytes) -> None:
    """The old file or the new one, whole, whatever happens."""
    draft = path.with_name(path.name + ".draft")
    with draft.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    os.replace(draft, path)  # noqa: PTH105  # stands beside os.fsync
