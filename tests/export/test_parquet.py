"""Parquet, written by pyarrow, read back by DuckDB."""

from pathlib import Path

import duckdb

from tests.export.rows import hard_run, long_run, random_run
from voxlog.export.parquet import to_parquet
from voxlog.export.run import ExportRun


def select(run: ExportRun, folder: Path, what: str) -> list[tuple[object, ...]]:
    path = folder / "run.parquet"
    path.write_bytes(to_parquet(run).data)
    return duckdb.sql(f"select {what} from read_parquet('{path}') order by n").fetchall()


def test_every_cell_comes_back_to_the_character(tmp_path: Path) -> None:
    run = hard_run()
    columns = "n, t_ms, t_end_ms, epoch_ms(utc), kind, phase, item, position, status, flags, heard"
    found = select(run, tmp_path, f"{columns}, value, unit, p, note, review")
    for row, cells in zip(run.rows, found, strict=True):
        event, moment = row.event, run.moment(row.start_ms)
        assert moment is not None
        assert cells == (
            *(row.n, row.start_ms, row.end_ms, round(moment.timestamp() * 1000), event.kind),
            *(event.phase, event.item, event.position, event.status, list(event.flags)),
            *(event.heard, event.value, event.unit, event.p, event.note, row.review),
        )


def test_any_text_comes_back(tmp_path: Path) -> None:
    run = random_run()
    assert select(run, tmp_path, "heard") == [(row.event.heard,) for row in run.rows]


def test_what_is_said_of_the_run_is_in_the_metadata(tmp_path: Path) -> None:
    path = tmp_path / "run.parquet"
    path.write_bytes(to_parquet(hard_run()).data)
    found = duckdb.sql(f"select key, value from parquet_kv_metadata('{path}')").fetchall()
    about = {bytes(key).decode(): bytes(value).decode() for key, value in found}
    assert about["voxlog.run"] == "s-07"
    assert about["voxlog.review"] == "not reviewed"


def test_times_of_a_long_log_are_exact(tmp_path: Path) -> None:
    run = long_run()
    assert select(run, tmp_path, "n, t_ms, t_end_ms") == [
        (row.n, row.start_ms, row.end_ms) for row in run.rows
    ]


def test_without_a_start_there_is_no_moment(tmp_path: Path) -> None:
    assert set(select(hard_run(None), tmp_path, "utc")) == {(None,)}
