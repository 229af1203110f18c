import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.exposures.runs import MONDAY, ROWS, make_run
from voxlog.errors import InputError
from voxlog.exposures.read import read_exposures
from voxlog.log.people import People
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision

WHO = People(("S-07",), {"attendant": "C-12"})


def test_run_folders_and_trees_of_them_are_read_once(tmp_path: Path) -> None:
    one = make_run(tmp_path / "runs" / "a", WHO)
    make_run(tmp_path / "runs" / "more" / "b", WHO)
    found = read_exposures([tmp_path / "runs", one])
    assert found.runs == 2
    assert sorted((each.run, each.code) for each in found.exposures) == [
        ("a", "C-12"),
        ("a", "S-07"),
        ("b", "C-12"),
        ("b", "S-07"),
    ]
    assert found.exposures[0].began is not None
    assert found.exposures[0].began > MONDAY


def test_runs_that_say_nothing_are_named(tmp_path: Path) -> None:
    make_run(tmp_path / "nobody", People())
    make_run(tmp_path / "flat", WHO, rows=ROWS[:2])
    found = read_exposures([tmp_path])
    assert (found.exposures, found.runs) == ((), 2)
    assert (found.without_codes, found.without_levels) == (("nobody",), ("flat",))


def test_rows_count_as_their_review_left_them(tmp_path: Path) -> None:
    folder = make_run(tmp_path / "a", WHO)
    rows = sorted(ROWS, key=lambda row: row.start)
    top = next(n for n, row in enumerate(rows, 1) if row.value == 25_000)
    at = datetime(2026, 11, 25, tzinfo=UTC)
    corrected = replace(rows[top - 1], value=24_000.0)
    append_decision(folder, Decision("C-12", at, "corrected", top, corrected, "heard wrong"))
    assert {each.level for each in read_exposures([folder]).exposures} == {25_000}
    # The stay at 25,000 ft is the sheet's; without its rows the corrected call is the highest.
    for n, row in enumerate(rows, 1):
        if row.phase == "top":
            skipped = replace(row, status="skipped")
            append_decision(folder, Decision("C-12", at, "corrected", n, skipped, "not done"))
    assert {each.level for each in read_exposures([folder]).exposures} == {24_000}


def test_a_folder_that_is_being_made_is_no_run(tmp_path: Path) -> None:
    make_run(tmp_path / "a", WHO)
    make_run(tmp_path / "b", WHO).rename(tmp_path / "b.partial")
    assert read_exposures([tmp_path]).runs == 1


@pytest.mark.parametrize("settings", [{"subjects": "S-07"}, {"crew": ["C-12"]}, {"subjects": [7]}])
def test_codes_that_voxlog_did_not_write_are_refused(tmp_path: Path, settings: object) -> None:
    folder = make_run(tmp_path / "a", WHO)
    run = json.loads((folder / "run.json").read_text())
    (folder / "run.json").write_text(json.dumps(run | {"settings": settings}))
    with pytest.raises(InputError, match=r"run\.json: subjects or crew are not codes"):
        read_exposures([folder])


def test_a_place_without_runs_is_refused(tmp_path: Path) -> None:
    for place in (tmp_path, tmp_path / "missing"):
        with pytest.raises(InputError, match="no runs in it"):
            read_exposures([place])


def test_a_run_that_is_not_whole_is_refused(tmp_path: Path) -> None:
    folder = make_run(tmp_path / "a", WHO)
    log = folder / "events.jsonl"
    log.write_bytes(log.read_bytes().replace(b"25000", b"15000", 1))
    with pytest.raises(InputError, match="changed"):
        read_exposures([folder])


def test_a_run_that_goes_on_is_to_be_finished_first(tmp_path: Path) -> None:
    folder = make_run(tmp_path / "a", WHO)
    log = folder / "events.jsonl"
    log.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:-1]))
    with pytest.raises(InputError, match="finish the run first"):
        read_exposures([tmp_path])
