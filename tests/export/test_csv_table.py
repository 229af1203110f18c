"""CSV read back by pandas."""

import io

import pandas as pd
import pytest

from tests.export.rows import TEXTS, hard_run, long_run, random_run
from voxlog.export.csv_table import to_csv
from voxlog.export.text import one_line
from voxlog.log.record import format_decimal
from voxlog.log.table import COLUMNS, inert


def read(data: bytes) -> pd.DataFrame:
    return pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False, encoding="utf-8")


def test_every_cell_comes_back() -> None:
    run = hard_run()
    table = read(to_csv(run).data)
    assert list(table.columns) == [*COLUMNS, "review"]
    for row, cells in zip(run.rows, table.to_dict("records"), strict=True):
        event, line = row.event, TEXTS[row.event.heard]
        shown = f"'{line}" if line.lstrip("'").startswith(("=", "@")) else line
        assert (cells["n"], cells["item"]) == (str(row.n), event.item)
        assert (round(float(cells["t"]) * 1000), round(float(cells["t_end"]) * 1000)) == (
            row.start_ms,
            row.end_ms,
        )
        assert (cells["heard"], cells["note"]) == (shown, shown)
        assert (cells["kind"], cells["status"]) == (event.kind, event.status or "")
        assert cells["flags"] == ";".join(event.flags)
        assert cells["value"] == ("" if event.value is None else format_decimal(event.value))
        assert (float(cells["p"]), cells["review"]) == (event.p, row.review)


def test_any_text_comes_back() -> None:
    run = random_run()
    texts = [inert(one_line(row.event.heard)) for row in run.rows]
    assert read(to_csv(run).data)["heard"].tolist() == texts


def test_utc_is_that_of_the_start() -> None:
    """The first row is 501 ms after 09:30:00.5 UTC."""
    assert read(to_csv(hard_run()).data)["utc"][0] == "2026-11-25T09:30:01.001Z"
    assert set(read(to_csv(hard_run(None)).data)["utc"]) == {""}


@pytest.mark.slow
def test_times_of_a_long_log_are_exact() -> None:
    run = long_run()
    table = read(to_csv(run).data)
    assert (table["t"].astype(float) * 1000).round().astype(int).tolist() == [
        row.start_ms for row in run.rows
    ]
    assert [len(line.split(b".")[1]) for line in table["t_end"].str.encode("ascii")] == [3] * len(
        run.rows
    )
