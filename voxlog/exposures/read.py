"""Run folders to exposures; the only module here that reads files."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from voxlog.errors import InputError
from voxlog.export.source import RunAbout, read_about, read_rows
from voxlog.exposures.exposure import Exposure, exposures_of
from voxlog.log.folder import CHAINED
from voxlog.log.people import People, people_in
from voxlog.profile.estimate import altitude_profile
from voxlog.review.review_log import read_log_end
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet

__all__ = ["Found", "read_exposures"]


@dataclass(frozen=True, slots=True)
class Found:
    """exposures: of all runs, in no order. runs: how many were read.

    without_codes: names of runs that have no codes. without_levels: of those with codes, names of
    runs whose log shows no change of level: there was none, or no call was heard.
    """

    exposures: tuple[Exposure, ...]
    runs: int
    without_codes: tuple[str, ...]
    without_levels: tuple[str, ...]


def read_exposures(places: Sequence[Path]) -> Found:
    """The exposures of run folders and of all run folders in folders, each once.

    Rows count as their review left them. InputError for a place without a run, and for a run that
    is not whole: a record with a run left out would say too little.
    """
    folders = list(dict.fromkeys(folder.resolve() for place in places for folder in _runs(place)))
    sheets = _Sheets()
    exposures: list[Exposure] = []
    without_codes: list[str] = []
    without_levels: list[str] = []
    for folder in folders:
        read_log_end(folder)  # of a run that still goes on it says so
        about = read_about(folder)
        people = _people(about, folder)
        if not people.subjects and not people.crew:
            without_codes.append(about.name)
            continue
        sheet = sheets.read(folder)
        events = read_rows(folder, as_reviewed=True).events
        if not altitude_profile(sheet, events).legs:
            without_levels.append(about.name)
        exposures += exposures_of(about.name, sheet, events, people, about.start)
    return Found(tuple(exposures), len(folders), tuple(without_codes), tuple(without_levels))


class _Sheets:
    """Reading a sheet takes longer than all the rest of a run, and many runs have the same one."""

    def __init__(self) -> None:
        self._known: dict[bytes, Sheet] = {}

    def read(self, folder: Path) -> Sheet:
        path = folder / "sheet.yaml"
        try:
            content = path.read_bytes()
        except OSError as error:
            raise InputError(f"{path}: {error.strerror}; run voxlog verify {folder}") from error
        if content not in self._known:
            self._known[content] = load_sheet(path)
        return self._known[content]


def _runs(place: Path) -> Iterator[Path]:
    found = sorted(file.parent for file in place.rglob(CHAINED)) if place.is_dir() else []
    runs = [folder for folder in found if folder.suffix != ".partial"]
    if not runs:
        raise InputError(f"{place}: no runs in it (no {CHAINED}); name a run folder or a tree")
    yield from runs


def _people(about: RunAbout, folder: Path) -> People:
    try:
        return people_in(about.settings)
    except ValueError as error:
        raise InputError(f"{folder / 'run.json'}: {error}; run voxlog verify {folder}") from error
