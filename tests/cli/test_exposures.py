"""`voxlog exposures` over run folders with codes, against a site's rules."""

import csv
import io
import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.exposures.runs import MONDAY, make_run
from voxlog.log.people import People

SITE = """\
voxlog-site: 1
rules:
  - {id: rest, source: standing order 4, for: [attendant], min-interval-h: 24, max-a-week: 1}
"""


@pytest.fixture
def runs(tmp_path: Path) -> Path:
    who = People(("S-07",), {"attendant": "C-12"})
    make_run(tmp_path / "runs" / "first", who)
    make_run(tmp_path / "runs" / "second", who, MONDAY + timedelta(hours=11))
    make_run(tmp_path / "runs" / "undated", People(("S-07",)), None)
    make_run(tmp_path / "runs" / "nobody", People())
    return tmp_path / "runs"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    path = tmp_path / "site.yaml"
    path.write_text(SITE, encoding="utf-8")
    return path


def test_the_record_for_people(voxlog: Callable[..., Any], runs: Path, site: Path) -> None:
    ended = voxlog("exposures", runs, "--site", site)
    lines = [" ".join(line.split()) for line in ended.out.split("\n")]
    assert ended.code == 0
    assert lines.index("C-12") < lines.index("S-07")
    for line in (
        "2026-11-23 09:06 attendant 25,000 ft 05:00 15:00 - -",
        "2026-11-23 20:06 subject 25,000 ft 05:00 15:00 21:40 10.7 h",
        "! 2026-11-23 20:06 breaks rest: 10.7 h after the last, 24 h asked for",
        "! 2026-11-23 20:06 breaks rest: 2 in 7 days, 1 at most",
        "? undated: its time is not known, so no rule was checked",
    ):
        assert line in lines, line
    assert "Rule rest (standing order 4): attendant, at least 24 h between two and" in ended.out
    assert "for people to decide" in ended.out


def test_what_a_record_lacks_is_said_on_stderr(voxlog: Callable[..., Any], runs: Path) -> None:
    ended = voxlog("exposures", runs)
    assert "1 of 4 runs without codes" in ended.err
    assert "breaks rest" not in ended.out


def test_json_for_programs(voxlog: Callable[..., Any], runs: Path, site: Path) -> None:
    found = json.loads(voxlog("exposures", runs, "--site", site, "--json").out)
    assert found["format"] == "voxlog-exposures"
    attendant, subject = found["people"]
    assert (attendant["code"], subject["code"]) == ("C-12", "S-07")
    assert [len(each["breaks"]) for each in attendant["exposures"]] == [0, 2]
    assert attendant["exposures"][1]["since_last_h"] == 10.75
    assert subject["exposures"][2]["began"] is None
    assert found["rules"][0]["for"] == ["attendant"]
    assert found["cautions"]


def test_csv_for_spreadsheets(voxlog: Callable[..., Any], runs: Path, site: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(voxlog("exposures", runs, "--site", site, "--csv").out)))
    assert [row["code"] for row in rows] == ["C-12", "C-12", "S-07", "S-07", "S-07"]
    assert rows[1]["began"] == "2026-11-23T20:06:00.000Z"
    assert rows[1]["breaks"].startswith("rest: 10.7 h after the last")
    assert rows[0]["oxygen_s"] == ""
    assert float(rows[2]["oxygen_s"]) == 1300


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--json", "--csv"], "only one of them"),
        (["--site", "missing.yaml"], "missing.yaml"),
    ],
)
def test_bad_input_is_one_line(
    voxlog: Callable[..., Any], runs: Path, more: list[str], words: str
) -> None:
    ended = voxlog("exposures", runs, *more)
    assert (ended.code, ended.out) == (2, "")
    assert words in ended.err
    assert ended.err.count("\n") == 1
