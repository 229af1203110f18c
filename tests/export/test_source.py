"""A run folder, reviewed or not, as it is exported."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.export.conftest import EVENTS, make_run
from voxlog.errors import InputError
from voxlog.export.clock import parse_clock
from voxlog.export.source import export_run, read_about, read_rows
from voxlog.follow.event import Event
from voxlog.log.table import COLUMNS, read_table
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)


def decide(folder: Path, verdict: str, row: int | None, event: Event | None = None) -> None:
    append_decision(folder, Decision("C-12", AT, verdict, row, event, "heard it again"))


def test_a_log_that_nobody_reviewed(run_folder: Path) -> None:
    standing = read_rows(run_folder, as_reviewed=False)
    assert standing.events == EVENTS
    assert standing.numbers == (1, 2, 3, 4)
    assert standing.reviews == ("", "open", "open", "open")
    assert not standing.is_reviewed
    run = export_run(read_about(run_folder), standing, None, as_reviewed=False)
    assert (run.name, run.sheet, run.title) == ("s-07", "tiny", "Two checks")
    assert (run.program, run.review) == ("voxlog 0.1.0", "not reviewed")
    assert [(row.start_ms, row.end_ms) for row in run.rows] == [
        (1000, 2000),
        (3000, 4500),
        (5000, 6000),
        (7000, 7000),
    ]


def test_rows_as_logged_and_as_reviewed(run_folder: Path) -> None:
    right = replace(EVENTS[2], flags=(), value=6000.0)
    added = Event(8.0, 9.0, "hold", "climb", heard="hold the run")
    decide(run_folder, "cleared", 2)
    decide(run_folder, "corrected", 3, right)
    decide(run_folder, "added", None, added)
    about = read_about(run_folder)

    logged = read_rows(run_folder, as_reviewed=False)
    assert logged.events == EVENTS
    assert logged.reviews == ("", "agreed", "agreed", "open")
    words = export_run(about, logged, None, as_reviewed=False).review
    assert words == "review not finished, rows as logged"

    decide(run_folder, "stands", 4)
    reviewed = read_rows(run_folder, as_reviewed=True)
    cleared = replace(EVENTS[1], status="confirmed", flags=(), p=1.0)
    assert reviewed.events == (EVENTS[0], cleared, right, EVENTS[3], added)
    assert reviewed.numbers == (1, 2, 3, 4, 5)
    assert reviewed.is_reviewed
    words = export_run(about, reviewed, None, as_reviewed=True).review
    assert words == "reviewed, rows as reviewed"


def test_an_added_row_that_was_taken_back_is_left_out(run_folder: Path) -> None:
    decide(run_folder, "added", None, Event(8.0, 9.0, "hold"))
    decide(run_folder, "cleared", 5)
    assert read_rows(run_folder, as_reviewed=True).numbers == (1, 2, 3, 4)


def test_on_the_recorders_clock(run_folder: Path) -> None:
    clock = parse_clock("1=11,7=17.0006", None)
    run = export_run(
        read_about(run_folder), read_rows(run_folder, as_reviewed=False), clock, as_reviewed=False
    )
    assert [row.start_ms for row in run.rows] == [11_000, 13_000, 15_000, 17_001]
    assert run.start is None


@pytest.mark.parametrize("drift_ppb", [0, 50_000_000, -50_000_000])
def test_moments_are_those_of_events_csv(tmp_path: Path, drift_ppb: int) -> None:
    folder = make_run(tmp_path / "run", AT + timedelta(microseconds=499_600), drift_ppb)
    run = export_run(
        read_about(folder), read_rows(folder, as_reviewed=False), None, as_reviewed=False
    )
    text = (folder / "events.csv").read_text(encoding="utf-8")
    column = COLUMNS.index("utc")
    shown = [line.split(",")[column] for line in text.splitlines()[1:]]
    moments = [run.moment(row.start_ms) for row in run.rows]
    assert [datetime.fromisoformat(one) for one in shown] == moments
    assert len(read_table(folder / "events.csv")) == len(moments)


def test_a_log_that_was_changed_is_not_exported(run_folder: Path) -> None:
    log = run_folder / "events.jsonl"
    log.write_bytes(log.read_bytes().replace(b"roger", b"wilco"))
    with pytest.raises(InputError, match="line 3"):
        read_rows(run_folder, as_reviewed=False)


@pytest.mark.parametrize("lost", ["sheet", "clock", "audio", "versions", "model", "settings"])
def test_a_run_json_that_is_not_ours_is_told(run_folder: Path, lost: str) -> None:
    path = run_folder / "run.json"
    run = json.loads(path.read_bytes())
    del run[lost]
    path.write_text(json.dumps(run))
    with pytest.raises(InputError, match="voxlog verify"):
        read_about(run_folder)
