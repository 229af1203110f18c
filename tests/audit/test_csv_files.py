"""Tables for other programs."""

import csv
import json
import math
from pathlib import Path

import pandas as pd
import pytest

from tests.audit.made_audit import made_audit
from tests.audit.table import raw_rows
from voxlog.audit.audit import audit
from voxlog.audit.csv_files import audit_json, write_csv
from voxlog.audit.question import Found, Question
from voxlog.errors import InputError

NAMES = ("totals", "rates", "delays", "trend", "together", "drift", "confidence")


def test_every_table_is_a_file_and_reads_back(tmp_path: Path) -> None:
    result = made_audit()
    written = write_csv(tmp_path / "new/folder", result)
    assert [path.name for path in written] == [f"{name}.csv" for name in NAMES]
    for path, table in zip(written, result.tables.values(), strict=True):
        back = pd.read_csv(path, keep_default_na=False, na_values={"from": []})
        assert list(back.columns) == list(table.columns)
        assert len(back) == len(table)
    rates = pd.read_csv(written[1])
    pd.testing.assert_series_equal(
        rates["rate"], result.rates["rate"], rtol=1e-5, check_dtype=False
    )


def test_hidden_numbers_are_empty_cells(tmp_path: Path) -> None:
    write_csv(tmp_path, made_audit())
    with (tmp_path / "rates.csv").open(encoding="utf-8", newline="") as file:
        hidden = [row for row in csv.DictReader(file) if row["hidden"] == "small-count"]
    assert hidden
    assert all(row["count"] == row["rate"] == row["high"] == "" for row in hidden)


def test_no_cell_is_a_formula(tmp_path: Path) -> None:
    table = raw_rows(*({"item": "=1+1", "sheet": "@sum"} for _ in range(9)))
    write_csv(tmp_path, audit(Found(table, 9, 0), Question()))
    text = (tmp_path / "rates.csv").read_text(encoding="utf-8")
    assert "'@sum,'=1+1," in text


def test_one_json_object_without_what_json_has_no_word_for() -> None:
    result = made_audit()
    found = json.loads(audit_json(result), parse_constant=pytest.fail)
    assert (found["format"], found["version"]) == ("voxlog-audit", 1)
    assert set(NAMES) < found.keys()
    assert found["scope"]["runs"] == result.scope.runs
    assert found["scope"]["by"] == "item"
    for row, ours in zip(found["rates"], result.rates.to_dict("records"), strict=True):
        assert (row["rate"] is None) == math.isnan(ours["rate"])
    assert type(found["rates"][0]["n"]) in (int, float)


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    with pytest.raises(InputError, match="taken"):
        write_csv(tmp_path / "taken", made_audit())
