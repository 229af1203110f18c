"""The table of many runs, written by pyarrow and read back by DuckDB."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import duckdb
import pytest

from voxlog.archive.table import (
    SCHEMA,
    RunRows,
    arrow_schema,
    month_of,
    open_table,
    run_table,
    write_table,
)
from voxlog.errors import InputError
from voxlog.follow.event import Event

EVENTS = (
    Event(
        1.0005,
        2.0,
        "item",
        "ground",
        "1",
        "attendant",
        "negative",
        ("late", "uncertain"),
        'he said "no"\n\u00e9\U0001f9ea',
        18000.5,
        "ft",
        0.1234,
        "corrected from 15000",
    ),
    Event(3.0, 3.0, "item", "ground", "2", "operator", "skipped"),
)


def run(name: str, start: datetime | None, **more: object) -> RunRows:
    facts = {"sheet": "tiny", "sheet_sha256": "ab", "model": "tiny.en", "run_ms": 9000}
    return RunRows(**{"run": name, "start": start, "events": EVENTS, **facts, **more})


def select(folder: Path, query: str) -> list[tuple[object, ...]]:
    table = f"read_parquet('{folder}/*/*.parquet', hive_partitioning=true)"
    return duckdb.sql(query.replace("TABLE", table)).fetchall()


@pytest.mark.parametrize(
    ("start", "month"),
    [
        (None, "unknown"),
        (datetime(2026, 11, 30, 23, 59, tzinfo=UTC), "2026-11"),
        (datetime(2026, 12, 1, 0, 30, tzinfo=timezone(timedelta(hours=1))), "2026-11"),
    ],
)
def test_the_month_is_that_of_the_start_in_utc(start: datetime | None, month: str) -> None:
    assert month_of(start) == month


def test_another_engine_reads_every_column(tmp_path: Path) -> None:
    start = datetime(2026, 11, 25, 9, 30, 0, 500_000, tzinfo=UTC)
    write_table(
        tmp_path,
        [
            run(
                "a",
                start,
                subjects=("S-07", "S-08"),
                crew={"attendant": "C-12"},
                reviewed=True,
                numbers=(1, 7),
                reviews=("agreed", ""),
                delays_ms=(850, None),
                limits={"1": (1600.0, None), "2": (1.0, 2.0)},
            )
        ],
    )
    names = [column.name for column in SCHEMA]
    first, second = (
        dict(zip(names, row, strict=True))
        for row in select(tmp_path, f"select {', '.join(names)} from TABLE order by t_ms")
    )
    assert first.pop("start").astimezone(UTC) == start
    assert first == {
        "run": "a",
        "sheet": "tiny",
        "sheet_sha256": "ab",
        "model": "tiny.en",
        "run_ms": 9000,
        "subjects": "S-07;S-08",
        "crew": "C-12",
        "reviewed": True,
        "review": "agreed",
        "n": 1,
        "t_ms": 1001,
        "t_end_ms": 2000,
        "kind": "item",
        "phase": "ground",
        "item": "1",
        "position": "attendant",
        "status": "negative",
        "flags": "late;uncertain",
        "heard": 'he said "no"\n\u00e9\U0001f9ea',
        "value": 18000.5,
        "unit": "ft",
        "p": 0.123,
        "note": "corrected from 15000",
        "delay_ms": 850,
        "limit_low": 1600.0,
        "limit_high": None,
    }
    assert (second["crew"], second["n"], second["value"]) == ("", 7, None)
    assert (second["delay_ms"], second["limit_low"]) == (None, None)


def test_months_are_folders_and_a_month_that_is_gone_goes(tmp_path: Path) -> None:
    november, december = (datetime(2026, month, 1, tzinfo=UTC) for month in (11, 12))
    write_table(tmp_path, [run("a", november), run("b", december), run("c", None)])
    by_month = "select month, count(*) from TABLE group by month order by month"
    assert select(tmp_path, by_month) == [("2026-11", 2), ("2026-12", 2), ("unknown", 2)]
    write_table(tmp_path, [run("b", december)])
    assert select(tmp_path, by_month) == [("2026-12", 2)]


def test_one_month_is_read_alone(tmp_path: Path) -> None:
    """The other month's file is no Parquet at all, so that opening it would fail."""
    write_table(tmp_path, [run("a", datetime(2026, month, 1, tzinfo=UTC)) for month in (11,)])
    write_table(
        tmp_path / "whole", [run(f"r{n}", datetime(2026, n, 1, tzinfo=UTC)) for n in (11, 12)]
    )
    (tmp_path / "whole/month=2026-12/events.parquet").write_bytes(b"not Parquet")
    import pyarrow.compute as pc

    rows = open_table(tmp_path / "whole").to_table(
        ["run", "month"], filter=pc.field("month") == "2026-11"
    )
    assert rows.to_pylist() == [{"run": "r11", "month": "2026-11"}] * 2


def test_the_schema_says_what_may_be_missing() -> None:
    schema = arrow_schema()
    missing = ["start", "value", "delay_ms", "limit_low", "limit_high"]
    assert [field.name for field in schema if field.nullable] == missing


def test_a_run_named_twice_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="twice"):
        write_table(tmp_path, [run("a", None), run("a", None)])


def test_numbers_must_fit_the_events() -> None:
    with pytest.raises(ValueError, match="2 events, 1 numbers"):
        run_table(run("a", None, numbers=(1,)))


def test_a_folder_without_a_table_is_said(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="make one with voxlog archive"):
        open_table(tmp_path)
