"""BIDS events: the validator of the standard's own makers, and pandas."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest

from tests.export.rows import TEXTS, hard_run, long_run, random_run, run_of
from voxlog.export.bids import BIDS_COLUMNS, to_bids
from voxlog.export.run import ExportRun, Row
from voxlog.export.text import one_line
from voxlog.follow.event import Event

VALIDATOR = Path(sys.executable).with_name("bids-validator-deno")


def read(run: ExportRun) -> pd.DataFrame:
    """As the standard says: tabs, no quoting, n/a for what is missing."""
    data = io.BytesIO(to_bids(run).data)
    return pd.read_csv(data, sep="\t", quoting=3, dtype=str, keep_default_na=False)


def problems(dataset: Path) -> list[tuple[str, str, str]]:
    done = subprocess.run(
        [VALIDATOR, dataset, "--json"], capture_output=True, text=True, check=False
    )
    issues = json.loads(done.stdout)["issues"]["issues"]
    return [(each["severity"], each["code"], each.get("location", "")) for each in issues]


@pytest.fixture
def dataset(tmp_path: Path) -> Path:
    about = {"Name": "runs", "BIDSVersion": "1.10.0", "DatasetType": "raw", "License": "CC0"}
    (tmp_path / "dataset_description.json").write_text(json.dumps(about))
    (tmp_path / "README").write_text("Rows of chamber runs. " * 10)
    (tmp_path / "sub-07/beh").mkdir(parents=True)
    written = to_bids(hard_run())
    events = tmp_path / "sub-07/beh/sub-07_task-chamber_events.tsv"
    events.write_bytes(written.data)
    events.with_suffix(".json").write_bytes(written.beside[".json"])
    return tmp_path


def test_the_validator_finds_no_error(dataset: Path) -> None:
    """Nor does it warn of a column: each is described, and the levels of each are complete."""
    found = problems(dataset)
    assert [one for one in found if one[0] == "error"] == []
    assert not [code for _, code, _ in found if code.startswith("TSV")]


def test_the_validator_would_find_one(dataset: Path) -> None:
    (events,) = dataset.rglob("*_events.tsv")
    events.write_bytes(events.read_bytes().replace(b"onset\tduration", b"duration\tonset", 1))
    assert "TSV_COLUMN_ORDER_INCORRECT" in {code for _, code, _ in problems(dataset)}


def test_every_cell_comes_back() -> None:
    run = hard_run()
    table = read(run)
    assert list(table.columns) == list(BIDS_COLUMNS)
    for row, cells in zip(run.rows, table.to_dict("records"), strict=True):
        line = TEXTS[row.event.heard] or "n/a"
        assert round(float(cells["onset"]) * 1000) == row.start_ms
        assert round(float(cells["duration"]) * 1000) == row.end_ms - row.start_ms
        assert (cells["trial_type"], cells["row"]) == (row.event.kind, str(row.n))
        assert (cells["heard"], cells["remark"]) == (line, line)
        assert (
            cells["spoken_value"]
            == {None: "n/a", 18000.0: "18000", -2.25: "-2.25"}[row.event.value]
        )
        assert (cells["status"], cells["review"]) == (
            row.event.status or "n/a",
            row.review or "n/a",
        )


def test_any_text_comes_back() -> None:
    run = random_run()
    texts = [one_line(row.event.heard) or "n/a" for row in run.rows]
    assert read(run)["heard"].tolist() == texts


def test_the_sidecar_describes_every_column_and_level() -> None:
    run = hard_run()
    table = read(run)
    sidecar = json.loads(to_bids(run).beside[".json"])
    assert list(table.columns) == [key for key in sidecar if key != "GeneratedBy"]
    for name in table.columns:
        assert sidecar[name]["Description"]
        if levels := sidecar[name].get("Levels"):
            assert set(table[name]) - {"n/a"} <= set(levels)
    assert "not reviewed" in sidecar["GeneratedBy"]["Description"]


def test_onsets_before_the_recording_are_negative() -> None:
    table = read(run_of([Row(1, -1500, 250, Event(0, 0, "hold"))]))
    assert (table["onset"][0], table["duration"][0]) == ("-1.500", "1.750")


@pytest.mark.slow
def test_times_of_a_long_log_are_exact() -> None:
    run = long_run()
    onsets = (read(run)["onset"].astype(float) * 1000).round().astype(int)
    assert onsets.tolist() == [row.start_ms for row in run.rows]
