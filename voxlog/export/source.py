"""A run folder as it is exported: its log, what its review came to, and what run.json says."""

import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from voxlog.errors import InputError
from voxlog.export.clock import RecorderClock
from voxlog.export.run import ExportRun, Row
from voxlog.follow.event import Event
from voxlog.log.folder import start_of
from voxlog.log.record import CLOCK_HZ, seconds_to_ms
from voxlog.log.verify import read_events
from voxlog.review.outcome import Outcome, cleared_row, is_reviewed, outcomes
from voxlog.review.review_log import read_review

__all__ = ["RunAbout", "Standing", "export_run", "read_about", "read_rows"]


@dataclass(frozen=True, slots=True)
class RunAbout:
    """What run.json says of a run. start: with its zone; None when nobody knows it."""

    name: str
    sheet: str
    title: str
    sheet_sha256: str
    model: str
    program: str
    start: datetime | None
    drift_ppb: int
    run_ms: int
    settings: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Standing:
    """The rows of a log with what their review came to.

    events: as logged, or as they stand after the review. numbers, reviews: as long; reviews as in
    run.Row. is_reviewed: nothing is left to decide. was_touched: somebody decided or signed.
    """

    events: tuple[Event, ...]
    numbers: tuple[int, ...]
    reviews: tuple[str, ...]
    is_reviewed: bool
    was_touched: bool


def read_rows(folder: Path, *, as_reviewed: bool) -> Standing:
    """The rows of a run folder; InputError if log or review is not whole."""
    events = read_events(folder)
    review = read_review(folder)
    found = outcomes(events, review.decisions)
    rows = [(one, event) for one in found if (event := _event(one, as_reviewed)) is not None]
    return Standing(
        events=tuple(event for _, event in rows),
        numbers=tuple(one.row for one, _ in rows),
        reviews=tuple(_review(one) for one, _ in rows),
        is_reviewed=is_reviewed(found),
        was_touched=bool(review.sections),
    )


def _event(outcome: Outcome, as_reviewed: bool) -> Event | None:  # noqa: FBT001  # one caller
    if not as_reviewed:
        return None if outcome.is_added else outcome.logged
    if outcome.event is None:
        return None if outcome.is_added else cleared_row(outcome.logged)
    is_added_and_open = outcome.is_added and outcome.state != "agreed"
    return None if is_added_and_open else outcome.event


def _review(outcome: Outcome) -> str:
    return outcome.state if outcome.findings or outcome.latest else ""


def read_about(folder: Path) -> RunAbout:
    """InputError where run.json is not as voxlog writes it."""
    path = folder / "run.json"
    try:
        run = json.loads(path.read_bytes())
        clock = run["clock"]
        longest = max(file["samples"] * CLOCK_HZ // file["rate_hz"] for file in run["audio"])
        return RunAbout(
            name=folder.resolve().name,
            sheet=run["sheet"]["id"],
            title=run["sheet"]["title"],
            sheet_sha256=run["sheet"]["sha256"],
            model=run["model"]["name"],
            program=f"voxlog {run['versions']['voxlog']}",
            start=start_of(clock),
            drift_ppb=clock.get("drift_ppb", 0),
            run_ms=longest * 1000 // CLOCK_HZ,
            settings=dict(run["settings"]),
        )
    except (OSError, ValueError, KeyError, TypeError, ZeroDivisionError, AttributeError) as error:
        raise InputError(f"{path}: not as voxlog writes it; run voxlog verify {folder}") from error


def export_run(
    about: RunAbout, standing: Standing, clock: RecorderClock | None, *, as_reviewed: bool
) -> ExportRun:
    """Rows on the recorder's clock, or on the log's own where clock is None."""
    return ExportRun(
        name=about.name,
        sheet=about.sheet,
        title=about.title,
        program=about.program,
        review=_review_words(standing, as_reviewed=as_reviewed),
        rows=_rows(standing, clock),
        start=about.start if clock is None else clock.start,
        drift_ppb=about.drift_ppb if clock is None else 0,
    )


def _review_words(standing: Standing, *, as_reviewed: bool) -> str:
    if not standing.was_touched:
        return "not reviewed"
    done = "reviewed" if standing.is_reviewed else "review not finished"
    return f"{done}, rows as {'reviewed' if as_reviewed else 'logged'}"


def _rows(standing: Standing, clock: RecorderClock | None) -> tuple[Row, ...]:
    rows = []
    columns = zip(standing.events, standing.numbers, standing.reviews, strict=True)
    for event, n, review in columns:
        start_ms, end_ms = seconds_to_ms(event.start), seconds_to_ms(event.end)
        if clock is not None:
            start_ms, end_ms = clock.recorder_ms(start_ms), clock.recorder_ms(end_ms)
        rows.append(Row(n, start_ms, end_ms, event, review))
    return tuple(rows)
