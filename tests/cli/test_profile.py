"""`voxlog profile` on a run folder, reviewed or not."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.profile.test_physiology import DROP, ROWS
from voxlog.log.folder import AudioFile, RunFacts, RunFolder
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision


@pytest.fixture
def run(tmp_path: Path) -> Path:
    place = tmp_path / "run"
    facts = RunFacts(
        sheet_id="drop",
        sheet_title="A rapid decompression",
        sheet_yaml=DROP.encode(),
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=(AudioFile(tmp_path / "a.flac", "2b" * 32, 16_000, 1, 16_000 * 500),),
        versions={"voxlog": "0.1.0"},
    )
    with RunFolder.create(place) as folder:
        folder.save(facts, [], sorted(ROWS, key=lambda row: row.start))
    return place


def test_tables_for_people(voxlog: Callable[..., Any], run: Path) -> None:
    ended = voxlog("profile", run)
    assert ended.code == 0
    assert "Rapid decompression" in ended.out
    assert "22,000 ft" in ended.out
    assert ended.err == ""


def test_json_for_programs(voxlog: Callable[..., Any], run: Path) -> None:
    found = json.loads(voxlog("profile", run, "--json").out)
    assert found["format"] == "voxlog-profile"
    assert [stay["level"] for stay in found["stays"]] == [0, 8000, 22_000]


def test_rows_count_as_the_review_left_them(voxlog: Callable[..., Any], run: Path) -> None:
    """The call of 8,000 ft was 9,000 ft."""
    rows = sorted(ROWS, key=lambda row: row.start)
    row = next(n for n, each in enumerate(rows, 1) if each.value == 8000)
    corrected = replace(rows[row - 1], value=9000.0)
    at = datetime(2026, 11, 25, tzinfo=UTC)
    append_decision(run, Decision("C-12", at, "corrected", row, corrected, "heard wrong"))
    found = json.loads(voxlog("profile", run, "--json").out)
    assert 9000 in [each["to"] for each in found["rates"]]


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda run: (run / "events.jsonl").unlink(), "not a run folder"),
        (lambda run: (run / "events.jsonl").write_bytes(b"{}\n"), "events.jsonl"),
        (lambda run: (run / "sheet.yaml").write_text("a: 1"), "sheet.yaml"),
        (lambda run: (run / "sheet.yaml").unlink(), "sheet.yaml"),
    ],
)
def test_a_damaged_folder_is_one_line(
    voxlog: Callable[..., Any], run: Path, damage: Callable[[Path], object], words: str
) -> None:
    damage(run)
    ended = voxlog("profile", run)
    assert ended.code == 2
    assert ended.out == ""
    assert words in ended.err
    assert ended.err.count("\n") == 1
