"""A right site file is read; everything wrong with another is said with its place."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from voxlog.errors import InputError
from voxlog.sheet.load import is_site, load_site, read_site
from voxlog.sheet.marks import Mark
from voxlog.sheet.problem import SheetError
from voxlog.sheet.schema import site_schema_text
from voxlog.sheet.tree import read_tree

GRAMMARS = Path(__file__).parents[2] / "grammars"
SITE = """\
voxlog-site: 1
title: Larkmoor Chamber
channels: {1: conductor, 2: attendant, 4: operator}
device: Desk interface
speak: headset
model: base
"""


def test_a_right_site_file_is_read_with_its_places() -> None:
    site = read_site(SITE, "larkmoor.yaml")
    assert site.channels == {1: "conductor", 2: "attendant", 4: "operator"}
    assert (site.device, site.speak, site.model) == ("Desk interface", "headset", "base")
    assert (site.file, site.mark_of(("channels", "4"))) == ("larkmoor.yaml", Mark(3, 43))


def test_all_but_the_version_may_be_left_out() -> None:
    site = read_site("voxlog-site: 1\n")
    assert (site.channels, site.device, site.speak, site.model) == ({}, None, None, None)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("device:", "devise:", "4:1: unknown key `devise`; did you mean `device`?"),
        ("device:", "colour:", "4:1: unknown key `colour`; known here: voxlog-site, title, "),
        ("site: 1", "site: 2", "1:14: `voxlog-site` has a version that is not known here"),
        ("voxlog-site: 1", "#", "2:1: `voxlog-site` is missing; add it here"),
        ("4: operator", "0: operator", "3:43: `0` is not a channel; write its number, from 1"),
        ("4: operator", "left: operator", "`left` is not a channel; write its number, from 1"),
        ("4: operator", "1: operator", "3:40: key `1` is already on line 3; keep one of them"),
        ("4: operator", "4: Operator", "3:43: `Operator` is not a name; use small letters"),
        ("{1: conductor, 2: attendant, 4: operator}", "[conductor]", "should be `key: value`"),
        ("speak: headset", "speak: 3", "5:8: `speak` should be text; put it in quotes"),
        ("speak: headset", "speak: ''", "5:8: `speak` should not be empty; write some text"),
    ],
)
def test_what_is_wrong_has_its_place(old: str, new: str, message: str) -> None:
    with pytest.raises(SheetError) as error:
        read_site(SITE.replace(old, new), "larkmoor.yaml")
    assert message in "\n".join(str(problem) for problem in error.value.problems)
    assert str(error.value).startswith("larkmoor.yaml:")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "the site file is empty; start with `voxlog-site: 1`"),
        ("- a\n", "not a site file; start with `voxlog-site: 1`"),
        ("a: {b\n", "not YAML"),
        ("a: &x 1\n", "anchor &x is not allowed"),
    ],
)
def test_what_is_no_site_file_is_said_to_be_none(text: str, message: str) -> None:
    with pytest.raises(SheetError, match=message):
        read_site(text)


def test_a_file_is_told_from_a_sheet(tmp_path: Path) -> None:
    path = tmp_path / "site.yaml"
    path.write_text(SITE)
    assert is_site(path)
    assert load_site(path).title == "Larkmoor Chamber"
    assert not is_site(GRAMMARS / "demo.yaml")
    with pytest.raises(InputError, match="no such file"):
        load_site(tmp_path / "other.yaml")


def test_the_committed_schema_is_the_generated_one_and_fits() -> None:
    text = site_schema_text()
    assert (GRAMMARS / "site.schema.json").read_text(encoding="utf-8") == text
    validator = Draft202012Validator(json.loads(text))
    assert list(validator.iter_errors(read_tree(SITE).data)) == []
    assert list(validator.iter_errors(read_tree(SITE.replace("device", "devise")).data))
