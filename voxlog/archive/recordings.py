"""Which recordings an archive has: every audio file in a tree, or what an index lists.

An index is a CSV file with the columns

    audio      path from the tree; several files of one run separated by semicolons
    start      moment of the first sample, as RFC 3339 (may be empty or missing)
    subjects   codes, separated by semicolons (likewise)
    crew       position=code, separated by semicolons (likewise)
"""

import csv
import os
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from voxlog.errors import InputError
from voxlog.log.people import People
from voxlog.review.decision import check_code

__all__ = ["INDEX_COLUMNS", "SUFFIXES", "Recorded", "find_recordings", "read_index"]

SUFFIXES = frozenset(
    {
        *(".wav", ".bwf", ".rf64", ".w64", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".m4a"),
        *(".aac", ".aif", ".aiff", ".au", ".caf", ".wma", ".mka"),
    }
)
"""Ends of names, in lower case, that are taken for audio; everything else in the tree is not."""

INDEX_COLUMNS = ("audio", "start", "subjects", "crew")


@dataclass(frozen=True, slots=True)
class Recorded:
    """One run's audio and what is known of it."""

    audio: tuple[Path, ...]
    start: datetime | None = None
    people: People = field(default_factory=People)


def find_recordings(tree: Path, leave_out: Path) -> list[Recorded]:
    """Each audio file of a tree as a run, in the order of their paths.

    Hidden files and folders, links to folders and the folder `leave_out` are left out. InputError
    for a tree without audio.
    """
    if not tree.is_dir():
        raise InputError(f"{tree}: no such folder; name the folder that has the recordings")
    found = sorted(_audio_files(tree, leave_out.resolve()))
    if not found:
        raise InputError(f"{tree}: no audio in it; name the folder that has the recordings")
    return [Recorded((path,)) for path in found]


def _audio_files(tree: Path, leave_out: Path) -> Iterator[Path]:
    for folder, folders, files in os.walk(tree.resolve()):
        here = Path(folder)
        folders[:] = [
            name for name in folders if not name.startswith(".") and here / name != leave_out
        ]
        for name in files:
            if not name.startswith(".") and Path(name).suffix.lower() in SUFFIXES:
                yield here / name


def read_index(index: Path, tree: Path, positions: Collection[str]) -> list[Recorded]:
    """The runs of an index; InputError names the line that cannot be right.

    positions: those of the sheet. Files that are not there are not complained of here.
    """
    try:
        with index.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file)
            names = reader.fieldnames or []
            _check_columns(index, names)
            return [
                _recorded(row, f"{index} line {reader.line_num}", tree.resolve(), positions)
                for row in reader
            ]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"{index}: cannot be read ({error}); save it as CSV in UTF-8") from error


def _check_columns(index: Path, names: Sequence[str]) -> None:
    if "audio" not in names or not set(names) <= set(INDEX_COLUMNS):
        raise InputError(
            f"{index}: its columns are {', '.join(names) or 'none'}; use audio and, if known,"
            f" {', '.join(INDEX_COLUMNS[1:])}"
        )


def _recorded(
    row: Mapping[str, str | None], where: str, tree: Path, positions: Collection[str]
) -> Recorded:
    audio = _split(row["audio"])
    if not audio:
        raise InputError(f"{where}: no audio named; name a file of the tree")
    return Recorded(
        audio=tuple(tree / name for name in audio),
        start=_start(row.get("start") or "", where),
        people=_people(row, where, positions),
    )


def _people(row: Mapping[str, str | None], where: str, positions: Collection[str]) -> People:
    subjects = _split(row.get("subjects"))
    crew = dict(_member(part, where, positions) for part in _split(row.get("crew")))
    for code in (*subjects, *crew.values()):
        try:
            check_code(code)
        except InputError as error:
            raise InputError(f"{where}: {error}") from error
    return People(subjects, crew)


def _split(cell: str | None) -> tuple[str, ...]:
    return tuple(part.strip() for part in (cell or "").split(";") if part.strip())


def _start(cell: str, where: str) -> datetime | None:
    if not cell.strip():
        return None
    try:
        start = datetime.fromisoformat(cell.strip())
    except ValueError:
        start = None
    if start is None or start.tzinfo is None:
        raise InputError(
            f"{where}: start {cell!r} is no moment with its zone; write 2026-11-25T09:30:00Z"
        )
    return start


def _member(part: str, where: str, positions: Collection[str]) -> tuple[str, str]:
    position, equals, code = (piece.strip() for piece in part.partition("="))
    if not (equals and position and code):
        raise InputError(f"{where}: crew {part!r} is not position=code; write conductor=C-12")
    if position not in positions:
        raise InputError(
            f"{where}: the sheet has no position {position}; use one of {', '.join(positions)}"
        )
    return position, code
