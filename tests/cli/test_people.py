"""Codes of who was in a run: taken by log and record, kept in run.json, names refused."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.exposures.runs import MONDAY
from voxlog.cli.options import parse_people
from voxlog.errors import InputError
from voxlog.log.folder import RunFacts
from voxlog.log.live_folder import begin_folder, read_begun
from voxlog.log.people import People, people_settings

POSITIONS = {"attendant": "Inside attendant", "operator": "Operator"}


@pytest.mark.parametrize(
    ("subjects", "crew", "people"),
    [
        (None, None, People()),
        (["S-07"], None, People(("S-07",))),
        (["S-07", "S-07", "S9"], None, People(("S-07", "S9"))),
        (
            None,
            "attendant=C-12, operator = C-03",
            People((), {"attendant": "C-12", "operator": "C-03"}),
        ),
    ],
)
def test_codes_are_read(subjects: list[str] | None, crew: str | None, people: People) -> None:
    assert parse_people(subjects, crew, POSITIONS) == people


@pytest.mark.parametrize(
    ("subjects", "crew", "words"),
    [
        (["Smith"], None, "'Smith': not a code; use capitals and a number, as in C-12"),
        (["S-07", ""], None, "'': not a code"),
        (None, "attendant=Jane Doe", "'Jane Doe': not a code"),
        (None, "C-12", "--crew C-12: not POSITION=CODE; write it as attendant=C-12"),
        (None, "tender=C-12", "no position tender; use one of attendant, operator"),
        (None, "attendant=C-1,attendant=C-2", "attendant is named twice; name it once"),
    ],
)
def test_names_and_slips_are_refused(
    subjects: list[str] | None, crew: str | None, words: str
) -> None:
    with pytest.raises(InputError) as caught:
        parse_people(subjects, crew, POSITIONS)
    assert words in str(caught.value)


@pytest.mark.slow
def test_a_log_keeps_the_codes(
    voxlog: Callable[..., Any], sheet: Path, recording: Path, tmp_path: Path
) -> None:
    out = tmp_path / "run"
    codes = ("--subject", "S-07", "--subject", "S-09", "--crew", "attendant=C-12")
    ended = voxlog("log", recording, "--sheet", sheet, "--out", out, *codes)
    assert ended.code == 0, ended.err
    settings = json.loads((out / "run.json").read_text())["settings"]
    assert settings["subjects"] == ["S-07", "S-09"]
    assert settings["crew"] == {"attendant": "C-12"}
    assert voxlog("verify", out).code == 0


def test_a_wrong_code_stops_before_anything_is_made(
    voxlog: Callable[..., Any], sheet: Path, recording: Path, tmp_path: Path
) -> None:
    out = tmp_path / "run"
    ended = voxlog("log", recording, "--sheet", sheet, "--out", out, "--subject", "Smith")
    assert ended.code == 2
    assert "not a code" in ended.err
    assert not out.exists()


@pytest.mark.parametrize("who", [People(), People(("S-07",), {"attendant": "C-12"})])
def test_a_run_that_was_broken_off_still_knows_them(tmp_path: Path, who: People) -> None:
    settings = {"source": "desk", "positions": {"1": "attendant"}}
    facts = RunFacts(
        sheet_id="tiny",
        sheet_title="Two checks",
        sheet_yaml=b"voxlog-sheet: 1\n",
        model="tiny.en",
        model_sha256="1a" * 32,
        audio=(),
        versions={"voxlog": "0.1.0"},
        start=MONDAY,
        settings=settings,
    )
    with begin_folder(tmp_path / "run", replace(facts, settings=settings | people_settings(who))):
        pass
    assert read_begun(tmp_path / "run").people == who
