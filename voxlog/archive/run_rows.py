"""A run folder -> its rows in the table of many runs, as they stand after the review."""

import json
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from voxlog.archive.table import RunRows
from voxlog.errors import InputError
from voxlog.export.source import RunAbout, read_about
from voxlog.export.source import read_rows as read_standing
from voxlog.follow.event import Event
from voxlog.log.people import People, people_in
from voxlog.log.record import seconds_to_ms
from voxlog.sheet.load import read_sheet
from voxlog.sheet.model import Sheet

__all__ = ["Limits", "Said", "delay_ms", "limits_of", "read_said", "run_rows"]

Limits = Mapping[str, tuple[float | None, float | None]]

_ANSWERS = frozenset({"confirm", "deny", "value"})
_SHORT_ANSWERS = frozenset({"affirm", "negative"})


class Said(NamedTuple):
    """What an utterance most likely was: a phrase of the sheet, or nothing of it ("")."""

    start_ms: int
    end_ms: int
    act: str
    step: str


def run_rows(folder: Path) -> RunRows:
    """The rows of a finished run. InputError for a folder that is not whole."""
    about = read_about(folder)
    standing = read_standing(folder, as_reviewed=True)
    said = read_said(folder)
    starts = [one.start_ms for one in said]
    people = _people(about, folder)
    return RunRows(
        run=about.name,
        sheet=about.sheet,
        sheet_sha256=about.sheet_sha256,
        model=about.model,
        start=about.start,
        run_ms=about.run_ms,
        events=standing.events,
        subjects=people.subjects,
        crew=people.crew,
        reviewed=standing.is_reviewed and standing.was_touched,
        numbers=standing.numbers,
        reviews=standing.reviews,
        delays_ms=[delay_ms(event, _within(event, said, starts)) for event in standing.events],
        limits=_limits_in(_sheet_text(folder)),
    )


def limits_of(sheet: Sheet) -> Limits:
    """Lower and upper limit of each item's and reading's value, where it has one."""
    limits = {item.key: (item.value.min, item.value.max) for item in sheet.items if item.value}
    return limits | {reading.id: (reading.min, reading.max) for reading in sheet.readings}


def _sheet_text(folder: Path) -> str:
    path = folder / "sheet.yaml"
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path}: cannot be read; run voxlog verify {folder}") from error


@lru_cache(maxsize=64)
def _limits_in(sheet: str) -> Limits:
    """Many runs have one sheet, and reading it takes longer than all else of a run."""
    return limits_of(read_sheet(sheet))


def read_said(folder: Path) -> list[Said]:
    """utterances.jsonl in order of time; InputError where it is not as voxlog writes it."""
    path = folder / "utterances.jsonl"
    try:
        with path.open("rb") as lines:
            said = [_said(json.loads(line)) for line in lines]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputError(f"{path}: not as voxlog writes it; run voxlog verify {folder}") from error
    return sorted(said)


def _said(utterance: Mapping[str, Any]) -> Said:
    start_ms, end_ms = utterance["start_ms"], utterance["end_ms"]
    heard = max(utterance["heard"], key=lambda one: one["evidence_millinats"], default=None)
    if heard is None or heard["evidence_millinats"] <= 0:
        return Said(start_ms, end_ms, "", "")
    return Said(start_ms, end_ms, heard["act"], heard["step"])


def _within(event: Event, said: Sequence[Said], starts: Sequence[int]) -> Iterator[Said]:
    """The utterances of a row; both are milliseconds of the same samples, rounded once each."""
    start_ms, end_ms = seconds_to_ms(event.start) - 1, seconds_to_ms(event.end) + 1
    for index in range(bisect_left(starts, start_ms), len(said)):
        if said[index].start_ms > end_ms:
            return
        if said[index].end_ms <= end_ms:
            yield said[index]


def delay_ms(event: Event, said: Iterator[Said]) -> int | None:
    """From the end of the last challenge before an item's first answer to the start of that answer.

    Below 0 where the answer began before the challenge was over; None unless both were heard. said:
    the utterances of the row, in order of time.
    """
    if event.kind != "item" or event.status not in ("confirmed", "negative"):
        return None
    asked = None
    for one in said:
        if one.act == "challenge" and one.step == event.item:
            asked = one.end_ms
        elif asked is not None and _may_answer(one, event.item):
            return one.start_ms - asked
    return None


def _may_answer(said: Said, item: str) -> bool:
    return said.act in _SHORT_ANSWERS or (said.act in _ANSWERS and said.step == item)


def _people(about: RunAbout, folder: Path) -> People:
    try:
        return people_in(about.settings)
    except ValueError as error:
        raise InputError(f"{folder / 'run.json'}: {error}; run voxlog verify {folder}") from error
