"""Three runs of the demonstration's sheet, reviewed by two people."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.follow.event import Event
from voxlog.log.folder import RunFacts, RunFolder
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision

ROOT = Path(__file__).parents[2]
SHEET = (ROOT / "grammars/demo.yaml").read_bytes()
ASKED = Event(
    30.0, 31.0, "item", "ground", "8", "monitor", "unconfirmed", heard="finger sensor", p=0.5
)
HEARD = replace(ASKED, status="confirmed", heard="finger sensor / sensor is fine")


def make_run(place: Path, day: int, sheet: bytes = SHEET) -> Path:
    facts = RunFacts(
        sheet_id="demo",
        sheet_title="Demonstration",
        sheet_yaml=sheet,
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=(),
        versions={"voxlog": "0.1.0"},
        start=datetime(2026, 11, day, 9, 30, tzinfo=UTC),
        start_source="option",
    )
    with RunFolder.create(place) as folder:
        folder.save(facts, [], [ASKED])
    return place


@pytest.fixture
def reviewed(tmp_path: Path) -> Callable[..., list[Path]]:
    """Make so many runs, each reviewed by one of the reviewers in turn."""

    def make(count: int = 3, codes: str = "23", sheet: bytes = SHEET) -> list[Path]:
        runs = [make_run(tmp_path / f"run-{n}", n, sheet) for n in range(1, count + 1)]
        for index, run in enumerate(runs):
            code = f"C-1{codes[index % len(codes)]}"
            at = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
            append_decision(run, Decision(code, at, "corrected", 1, HEARD, "said so"))
        return runs

    return make
