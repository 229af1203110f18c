"""Reading the rows of many runs: from Parquet no more than is asked for, from folders all."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from tests.audit.made_up import EVENTS_A_RUN, write_made_up
from tests.export.conftest import make_run
from voxlog.archive.table import RunRows, write_table
from voxlog.audit.question import Question
from voxlog.audit.read import read_rows
from voxlog.audit.rows import COLUMNS
from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision

ALL = Question(unreviewed=True)
EVENTS = (
    Event(1.0, 2.0, "item", "ground", "1", "attendant", "confirmed"),
    Event(3.0, 4.0, "reading", "ground", "saturation", "attendant", None, (), "", 97.0, "%"),
    Event(5.0, 6.0, "note", "ground"),
    Event(7.0, 8.0, "callout", "climb", "climb", "operator", "confirmed", (), "", 5000.0, "ft"),
)


def run(name: str, month: int | None, **more: Any) -> RunRows:
    start = None if month is None else datetime(2026, month, 15, 8, tzinfo=UTC)
    facts = {"sheet": "tiny", "sheet_sha256": "ab", "model": "tiny.en", "run_ms": 9000}
    return RunRows(**{"run": name, "start": start, "events": EVENTS, **facts, **more})


@pytest.fixture
def table(tmp_path: Path) -> Path:
    runs = [
        run("a", 9, reviewed=True),
        run("b", 10, reviewed=True, sheet="other"),
        run("c", 11, reviewed=False),
        run("d", None, reviewed=True),
    ]
    write_table(tmp_path / "table", runs)
    return tmp_path / "table"


@pytest.mark.parametrize(
    ("question", "runs", "not_reviewed"),
    [
        (Question(), "abd", 1),
        (ALL, "abcd", 1),
        (Question(sheet="other"), "b", 0),
        (Question(since=datetime(2026, 10, 1, tzinfo=UTC)), "b", 1),
        (Question(since=datetime(2026, 10, 15, 8, tzinfo=UTC), unreviewed=True), "bc", 1),
        (Question(since=datetime(2026, 10, 15, 9, tzinfo=UTC), unreviewed=True), "c", 1),
        # The same moment in another zone, in which it is another month.
        (
            Question(since=datetime(2026, 10, 1, 1, tzinfo=timezone(timedelta(hours=2)))),
            "b",
            1,
        ),
    ],
)
def test_only_what_is_asked_for(
    table: Path, question: Question, runs: str, not_reviewed: int
) -> None:
    found = read_rows([table], question)
    assert sorted(found.rows["run"].unique()) == list(runs)
    assert (found.runs, found.not_reviewed) == (len(runs), not_reviewed)
    assert set(found.rows["kind"].unique()) == {"item", "reading"}
    assert list(found.rows.columns) == list(COLUMNS)


def test_months_before_are_never_opened(table: Path) -> None:
    """The other months' files are no Parquet at all, so that opening one would fail."""
    for month in ("2026-09", "2026-10", "unknown"):
        (table / f"month={month}/events.parquet").write_bytes(b"not Parquet")
    since = Question(since=datetime(2026, 11, 1, tzinfo=UTC), unreviewed=True)
    assert read_rows([table], since).runs == 1
    with pytest.raises(InputError, match="make the table again"):
        read_rows([table], ALL)


def test_columns_that_are_not_asked_for_are_not_read(tmp_path: Path) -> None:
    """By what the scan read: the words are most of a table, and not part of it."""
    write_made_up(tmp_path, 20)
    rows = read_rows([tmp_path], ALL).rows
    assert len(rows) < 20 * EVENTS_A_RUN
    assert not {"heard", "note", "subjects"} & set(rows.columns)


def test_run_folders_count_as_they_stand_after_review(tmp_path: Path) -> None:
    start = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
    reviewed = make_run(tmp_path / "tree/deep/s-07", start)
    make_run(tmp_path / "tree/s-08", start)
    for row in (2, 3):
        append_decision(reviewed, Decision("C-1", start, "cleared", row, None, "heard again"))
    append_decision(reviewed, Decision("C-1", start, "stands", 4, None, ""))
    found = read_rows([tmp_path / "tree"], Question())
    assert (found.runs, found.not_reviewed) == (1, 1)
    assert list(found.rows["status"]) == ["confirmed", "confirmed", "skipped"]
    both = read_rows([tmp_path / "tree", reviewed], ALL)
    assert both.runs == 2
    assert list(both.rows["status"]).count("unconfirmed") == 1


def test_a_table_stands_for_the_folders_beside_it(table: Path) -> None:
    make_run(table.parent / "runs/s-07", None)
    assert read_rows([table.parent], ALL).runs == 4


def test_folders_and_tables_add_up(table: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = make_run(tmp_path_factory.mktemp("other") / "s-07", None)
    found = read_rows([table, folder], ALL)
    assert found.runs == 5
    assert found.rows["run"].nunique() == 5


def test_a_run_that_stands_twice_is_refused(table: Path, tmp_path: Path) -> None:
    write_table(tmp_path / "second", [run("b", 11)])
    with pytest.raises(InputError, match="run b: stands in two of the places"):
        read_rows([table, tmp_path / "second"], ALL)
    # The same place named twice is one place.
    assert read_rows([table, table], ALL).runs == 4


@pytest.mark.parametrize(
    ("question", "text"),
    [
        (Question(sheet="nowhere"), "no run fits --since and --sheet"),
        (Question(since=datetime(2026, 11, 1, tzinfo=UTC)), "1 runs, none reviewed"),
    ],
)
def test_nothing_to_count_is_said(table: Path, question: Question, text: str) -> None:
    with pytest.raises(InputError, match=text):
        read_rows([table], question)


def test_a_place_without_runs_is_said(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no runs in it"):
        read_rows([tmp_path], ALL)
    with pytest.raises(InputError, match="no such folder"):
        read_rows([tmp_path / "nowhere"], ALL)
