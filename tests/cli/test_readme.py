"""What the README shows works as it stands."""

import re
from pathlib import Path

import pytest

from voxlog.cli.options import positions_of
from voxlog.follow.event import FLAGS, KINDS, STATUSES
from voxlog.log.table import COLUMNS
from voxlog.sheet.load import read_sheet, read_site

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def yaml_with(words: str) -> str:
    (block,) = (
        text for text in re.findall(r"```yaml\n(.*?)```", README, re.DOTALL) if words in text
    )
    return block


def test_the_sheet_shown_is_right() -> None:
    site, text = yaml_with("voxlog-site: 1"), yaml_with("voxlog-sheet: 1")
    sheet = read_sheet(text, "README.md")
    assert [item.number for item in sheet.items] == [1, 2, 3, 4, 5, 6]
    assert positions_of(None, read_site(site), sheet.positions, 3) == dict(
        enumerate(sheet.positions)
    )


def test_the_words_shown_for_physics_and_exposures_are_right() -> None:
    (rule,) = read_site(f"voxlog-site: 1\n{yaml_with('rules:')}").rules
    assert (rule.min_interval_h, rule.max_a_week) == (24, 3)
    rate, gas, departs, drop = (
        line.split("#")[0].strip() for line in yaml_with("gas:").splitlines()
    )
    cue = f"- {{cue: masks-off, {gas}, {departs}, {drop},"
    text = yaml_with("voxlog-sheet: 1").replace("- {cue: masks-off,", cue)
    phase = read_sheet(text.replace("title: Climb\n", f"title: Climb\n    {rate}\n")).phase("climb")
    assert phase.rate is not None
    assert phase.rate.max == 5000


@pytest.mark.parametrize("word", [*COLUMNS, *KINDS, *STATUSES, *FLAGS])
def test_every_word_of_the_log_is_explained(word: str) -> None:
    section = README.split("\n## Log your own recording\n")[1].split("\n## ")[0]
    assert re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", section)


def test_the_first_screen_has_the_commands_and_the_cautions() -> None:
    first = README.split("\n## ")[0]
    for words in ("voxlog demo", "-m tests.fetch", "not a medical device", "local codes"):
        assert words in first
