"""Options that commands share, and their text as what it means.

An error says how an option is written.
"""

import os
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from voxlog.errors import InputError

if TYPE_CHECKING:
    from voxlog.log.people import People
    from voxlog.sheet.site import Site

__all__ = [
    "MODEL",
    "OPEN_FINDINGS",
    "CrewOption",
    "MapOption",
    "ModelOption",
    "SheetOption",
    "SiteOption",
    "StrictOption",
    "SubjectOption",
    "cache_folder",
    "channels_in",
    "default_out",
    "parse_people",
    "parse_positions",
    "parse_start",
    "positions_of",
    "read_site_file",
]

MODEL = "tiny.en-intercom"
OPEN_FINDINGS = 3
"""Exit code of --strict."""

SheetOption = Annotated[Path, typer.Option("--sheet", metavar="FILE", help="The run sheet.")]
MapOption = Annotated[
    str | None,
    typer.Option(
        "--map",
        metavar="MAP",
        help="Who is on which channel, as 1=conductor,2=attendant. Default: the site file's.",
    ),
]
SiteOption = Annotated[
    Path | None,
    typer.Option(
        "--site", metavar="FILE", help="Site file: channels, devices and model, set once."
    ),
]
ModelOption = Annotated[
    str | None,
    typer.Option(
        "--model",
        metavar="NAME",
        help="Speech model: tiny.en-intercom (default), tiny.en, base, or a folder.",
    ),
]
SubjectOption = Annotated[
    list[str] | None,
    typer.Option(
        "--subject", metavar="CODE", help="Code of a subject, as S-07; once for each. No names."
    ),
]
CrewOption = Annotated[
    str | None,
    typer.Option(
        "--crew", metavar="CODES", help="Codes of the crew, as attendant=C-12,operator=C-03."
    ),
]
StrictOption = Annotated[bool, typer.Option("--strict", help="Exit 3 while there are findings.")]


def parse_start(text: str) -> datetime:
    """A moment with its zone, as RFC 3339 writes it: 2026-11-25T09:30:00Z or with +01:00."""
    try:
        start = datetime.fromisoformat(text)
    except ValueError:
        start = None
    if start is None or start.tzinfo is None:
        raise InputError(
            f"--start {text}: not a moment with its zone; write it as 2026-11-25T09:30:00Z"
        )
    return start


def parse_positions(text: str, known: Mapping[str, str], channels: int) -> dict[int, str]:
    """`1=conductor,2=attendant` to {0: "conductor", 1: "attendant"}.

    known: the positions of the sheet. channels: how many the recording has.
    """
    positions: dict[int, str] = {}
    for part in text.split(","):
        number, equals, position = (piece.strip() for piece in part.partition("="))
        if not equals or not number.isdecimal():
            raise InputError(f"--map {part}: not CHANNEL=POSITION; write it as 1=conductor")
        if position not in known:
            raise InputError(
                f"--map {part}: the sheet has no position {position}; use one of {', '.join(known)}"
            )
        if not 1 <= int(number) <= channels:
            raise InputError(f"--map {part}: the recording has channels 1 to {channels}; use those")
        if int(number) - 1 in positions:
            raise InputError(f"--map {part}: channel {number} is named twice; name it once")
        positions[int(number) - 1] = position
    return positions


def parse_people(
    subjects: Sequence[str] | None, crew: str | None, known: Mapping[str, str]
) -> "People":
    """Codes of subjects, and `attendant=C-12,operator=C-03`. known: the positions of the sheet."""
    from voxlog.log.people import People
    from voxlog.review.decision import check_code

    codes: dict[str, str] = {}
    for part in crew.split(",") if crew else ():
        position, equals, code = (piece.strip() for piece in part.partition("="))
        if not equals:
            raise InputError(f"--crew {part}: not POSITION=CODE; write it as attendant=C-12")
        if position not in known:
            raise InputError(
                f"--crew {part}: the sheet has no position {position}; "
                f"use one of {', '.join(known)}"
            )
        if position in codes:
            raise InputError(f"--crew {part}: {position} is named twice; name it once")
        codes[position] = code
    for code in (*(subjects or ()), *codes.values()):
        check_code(code)
    return People(tuple(dict.fromkeys(subjects or ())), codes)


def read_site_file(path: Path | None) -> "Site | None":
    """The site file that --site names, if it names one."""
    from voxlog.sheet.load import load_site

    return None if path is None else load_site(path)


def channels_in(map_: str | None, site: "Site | None") -> int:
    """How many channels a map or a site file speaks of; one where neither does."""
    if map_ is None:
        return max(site.channels, default=1) if site else 1
    numbers = [part.partition("=")[0].strip() for part in map_.split(",")]
    return max((int(number) for number in numbers if number.isdecimal()), default=1)


def positions_of(
    map_: str | None, site: "Site | None", known: Mapping[str, str], channels: int
) -> dict[int, str]:
    """Who is on which channel, from 0: by --map, or else by the site file, or else not known.

    known: the positions of the sheet. channels: how many the recording has.
    """
    if map_:
        return parse_positions(map_, known, channels)
    written = site.channels.items() if site else ()
    for number, position in written:
        fault = ""
        if position not in known:
            fault = f"the sheet has no position {position}; use one of {', '.join(known)}"
        elif number > channels:
            fault = f"channel {number}, but the recording has {channels}; use another site file"
        if site and fault:
            mark = site.mark_of(("channels", str(number)))
            raise InputError(f"{site.file}:{mark.line}:{mark.column}: {fault}")
    return {number - 1: position for number, position in written}


def default_out(start: datetime | None, sheet_id: str) -> Path:
    """runs/20261125T093000Z-demo, by the start of the recording or else by the clock."""
    moment = (start or datetime.now(UTC)).astimezone(UTC)
    return Path("runs") / f"{moment:%Y%m%dT%H%M%SZ}-{sheet_id}"


def cache_folder() -> Path:
    """Where what can be made again is kept: VOXLOG_CACHE, or voxlog in the user's cache folder."""
    if named := os.environ.get("VOXLOG_CACHE"):
        return Path(named)
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "voxlog"
