"""What the review page reads of a run folder, once, when it starts."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.folder import start_of
from voxlog.log.verify import read_events, verify
from voxlog.review_page.lines import Line, read_lines
from voxlog.review_page.wav import RATE
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet

__all__ = ["Channel", "ReviewRun", "read_run"]


@dataclass(frozen=True, slots=True)
class Channel:
    """A channel's file, and the position that speaks on it, "" where that is not known."""

    path: Path
    position: str


@dataclass(frozen=True, slots=True)
class ReviewRun:
    """A run to be reviewed. samples: length of the recording at 16 kHz.

    channels: empty where the recording is not in the folder. warnings: what a reviewer must know
    before deciding, for instance that a file was changed since the log was closed.
    """

    folder: Path
    sheet: Sheet
    events: tuple[Event, ...]
    lines: tuple[Line, ...]
    channels: tuple[Channel, ...]
    samples: int
    start: datetime | None
    warnings: tuple[str, ...]

    @property
    def seconds(self) -> float:
        return self.samples / RATE


def read_run(folder: Path) -> ReviewRun:
    """InputError for what is no run folder, a log that is not whole, or an unreadable file."""
    events = tuple(read_events(folder))
    report = verify(folder)
    run = _json(folder / "run.json")
    warnings = [*report.problems]
    try:
        recorded = [(str(file["path"]), int(file["samples"])) for file in run["audio"]]
        positions = run.get("settings", {}).get("positions", {})
        begun = start_of(run["clock"])
    except (AttributeError, KeyError, TypeError, ValueError):
        raise InputError(
            f"{folder / 'run.json'}: not as voxlog writes it; run voxlog verify on the folder"
        ) from None
    channels = []
    for number, (name, _) in enumerate(recorded, 1):
        if (path := _inside(folder, name)) is None:
            warnings.append(f"{name}: not in the run folder; it cannot be played")
        else:
            channels.append(Channel(path, str(positions.get(str(number), ""))))
    spoken = max((event.end for event in events), default=0.0)
    return ReviewRun(
        folder=folder,
        sheet=load_sheet(folder / "sheet.yaml"),
        events=events,
        lines=_lines(folder / "utterances.jsonl"),
        channels=tuple(channels),
        samples=max([samples for _, samples in recorded], default=0) or int(spoken * RATE),
        start=begun,
        warnings=tuple(warnings),
    )


def _lines(path: Path) -> tuple[Line, ...]:
    """None where the file is missing, which is among the warnings: the rows can be decided on."""
    return read_lines(_text(path), str(path)) if path.exists() else ()


def _inside(folder: Path, name: str) -> Path | None:
    """The file, if it is one and lies in the folder, links followed; else None."""
    try:
        path = (folder / name).resolve(strict=True)
        is_inside = path.is_relative_to(folder.resolve(strict=True))
    except (OSError, ValueError, RuntimeError):
        return None
    return path if is_inside and path.is_file() else None


def _json(path: Path) -> Mapping[str, Any]:
    try:
        found = json.loads(_text(path))
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise InputError(f"{path}: not as voxlog writes it; run voxlog verify on the folder")
    return found


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "not text"
        raise InputError(f"{path}: cannot be read ({reason}); check the folder") from error
