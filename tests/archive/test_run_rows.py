"""A run folder as rows of the table: reviewed or not, with delays and limits."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.export.conftest import EVENTS, SHEET, make_run
from voxlog.archive.run_rows import Said, delay_ms, limits_of, read_said, run_rows
from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.table import COLUMNS
from voxlog.review.decision import Decision
from voxlog.review.review_log import append_decision
from voxlog.sheet.load import read_sheet

START = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_run(tmp_path / "s-07", START)


def decide(folder: Path, verdict: str, row: int, event: Event | None = None) -> None:
    append_decision(folder, Decision("C-12", START, verdict, row, event, "heard it again"))


def test_a_run_that_nobody_reviewed(folder: Path) -> None:
    rows = run_rows(folder)
    assert (rows.run, rows.sheet, rows.model) == ("s-07", "tiny", "tiny.en")
    assert (rows.start, rows.run_ms) == (START, 10_000)
    assert (rows.events, rows.numbers) == (EVENTS, (1, 2, 3, 4))
    assert (rows.reviewed, rows.reviews) == (False, ("", "open", "open", "open"))
    assert (rows.subjects, rows.crew) == ((), {})


def test_rows_stand_as_reviewed(folder: Path) -> None:
    for row in (2, 3):
        decide(folder, "cleared", row)
    assert not run_rows(folder).reviewed
    decide(folder, "stands", 4)
    rows = run_rows(folder)
    assert rows.reviewed
    assert [event.status for event in rows.events] == ["confirmed", "confirmed", None, "skipped"]
    assert rows.events[2].flags == ()


def test_limits_are_those_of_the_runs_own_sheet() -> None:
    assert limits_of(read_sheet(SHEET)) == {"2": (1600.0, None), "saturation": (75.0, 100.0)}


CHALLENGE = Said(1000, 2000, "challenge", "1")
ITEM = Event(1.0, 9.0, "item", item="1", status="confirmed")


@pytest.mark.parametrize(
    ("said", "delay"),
    [
        ([CHALLENGE, Said(2450, 3000, "confirm", "1")], 450),
        ([CHALLENGE, Said(2450, 3000, "value", "1")], 450),
        ([CHALLENGE, Said(2450, 3000, "affirm", "")], 450),
        ([CHALLENGE, Said(1900, 3000, "deny", "1")], -100),
        # The last challenge before the first answer.
        ([CHALLENGE, Said(2500, 3500, "challenge", "1"), Said(4000, 5000, "confirm", "1")], 500),
        ([CHALLENGE, Said(2450, 3000, "value", "1"), Said(4000, 5000, "value", "1")], 450),
        # Talk, receipts and other items' words are no answer.
        ([CHALLENGE, Said(2100, 2200, "", ""), Said(2450, 3000, "confirm", "1")], 450),
        ([CHALLENGE, Said(2450, 3000, "receipt", "")], None),
        ([CHALLENGE, Said(2450, 3000, "confirm", "2")], None),
        ([CHALLENGE], None),
        ([Said(2450, 3000, "confirm", "1")], None),
        ([], None),
    ],
)
def test_the_delay_of_an_answer(said: list[Said], delay: int | None) -> None:
    assert delay_ms(ITEM, iter(said)) == delay


def test_only_answered_items_have_a_delay() -> None:
    said = [CHALLENGE, Said(2450, 3000, "confirm", "1")]
    assert delay_ms(Event(1, 9, "item", item="1", status="unconfirmed"), iter(said)) is None
    assert delay_ms(Event(1, 9, "callout", item="1"), iter(said)) is None


def test_delays_of_a_run_come_from_what_was_heard(folder: Path) -> None:
    """Item 1 is the row from 1.0 to 2.0 s; what lies outside is another row's."""

    def line(start: int, end: int, act: str, evidence: int) -> str:
        ways = [
            {"text": "", "act": "deny", "step": "1", "value": None, "evidence_millinats": -9000},
            {"text": "", "act": act, "step": "1", "value": None, "evidence_millinats": evidence},
        ]
        return json.dumps({"channel": 1, "start_ms": start, "end_ms": end, "heard": ways}) + "\n"

    (folder / "utterances.jsonl").write_text(
        line(1600, 2000, "confirm", 4000)
        + line(1000, 1250, "challenge", 5000)
        + line(1300, 1400, "confirm", -1)
        + line(2100, 2300, "confirm", 5000)
    )
    assert [one.act for one in read_said(folder)] == ["challenge", "", "confirm", "confirm"]
    assert run_rows(folder).delays_ms == [350, None, None, None]


def test_codes_of_the_run_itself(folder: Path) -> None:
    path = folder / "run.json"
    run = json.loads(path.read_bytes())
    run["settings"] = {"subjects": ["S-07"], "crew": {"attendant": "C-12"}}
    path.write_text(json.dumps(run))
    rows = run_rows(folder)
    assert (rows.subjects, rows.crew) == (("S-07",), {"attendant": "C-12"})


@pytest.mark.parametrize("name", ["utterances.jsonl", "run.json", "sheet.yaml"])
def test_a_file_that_is_not_ours_is_told(folder: Path, name: str) -> None:
    (folder / name).write_bytes(b"{}\xff\n")
    with pytest.raises(InputError, match="voxlog verify"):
        run_rows(folder)


def test_what_is_a_row_in_the_log_is_one_here(folder: Path) -> None:
    lines = (folder / "events.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0] == ",".join(COLUMNS)
    assert len(lines) - 1 == len(run_rows(folder).events)
