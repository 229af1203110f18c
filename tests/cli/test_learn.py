"""`voxlog learn` on one reviewed run: nothing is proposed, what was seen is told."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import pytest

from voxlog.follow.event import Event
from voxlog.log.folder import RunFacts, RunFolder
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision

ROOT = Path(__file__).parents[2]


class Ended(NamedTuple):
    code: int
    out: str
    err: str


Run = Callable[..., Ended]

ASKED = Event(3.0, 4.0, "item", "ground", "8", "monitor", "unconfirmed", heard="finger sensor")


@pytest.fixture
def folders(tmp_path: Path) -> list[Path]:
    sheet = (ROOT / "grammars/demo.yaml").read_bytes()
    folders = []
    for day in (1, 2, 3):
        start = datetime(2026, 11, day, tzinfo=UTC)
        facts = RunFacts(
            *("demo", "Demo", sheet, "tiny.en", "1a" * 32, (), {"voxlog": "1"}, start, "option")
        )
        with RunFolder.create(tmp_path / f"run-{day}") as run:
            run.save(facts, [], [ASKED])
        now = replace(ASKED, status="confirmed", heard="sensor is fine")
        append_decision(
            run.path, Decision(f"C-{day % 2}", start, "corrected", 1, now, "said clearly")
        )
        folders.append(run.path)
    return folders


def test_a_diff_with_where_it_comes_from(voxlog: Run, folders: list[Path]) -> None:
    code, out, err = voxlog("learn", *folders)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].startswith('# proposed: item 8, finger sensor: add "sensor is fine"')
    assert lines[1:3] == ["--- demo.yaml", "+++ demo.yaml"]
    assert '+        confirm: ["good trace", "tracing well", "sensor is fine"]' in lines


def test_one_run_is_not_enough(voxlog: Run, folders: list[Path]) -> None:
    code, out, _ = voxlog("learn", folders[0])
    assert code == 0
    first, last = out.splitlines()
    assert first.startswith('# not proposed: item 8 answered "sensor is fine" (confirm): too few')
    assert last == "# nothing to propose"


def test_a_folder_that_is_none_is_named(voxlog: Run, folders: list[Path]) -> None:
    code, out, err = voxlog("learn", folders[0], "none")
    assert (code, out) == (2, "")
    assert "none: not a run folder" in err
    code, _, err = voxlog("learn", folders[0], "--sheet", "none.yaml")
    assert code == 2
    assert "none.yaml: no such file" in err
