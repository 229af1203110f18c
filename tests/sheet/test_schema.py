"""The schema for editors agrees with what the loader takes."""

from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from voxlog.sheet.schema import json_schema, schema_text
from voxlog.sheet.tree import read_tree

GRAMMARS = Path(__file__).parents[2] / "grammars"
SHEETS = sorted(GRAMMARS.glob("*.yaml"))


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    return Draft202012Validator(json_schema())


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(json_schema())


def test_the_committed_schema_is_the_generated_one() -> None:
    assert (GRAMMARS / "sheet.schema.json").read_text(encoding="utf-8") == schema_text()


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.stem)
def test_shipped_sheets_fit_and_name_the_schema(
    path: Path, validator: Draft202012Validator
) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# yaml-language-server: $schema=sheet.schema.json\n")
    assert list(validator.iter_errors(read_tree(text).data)) == []


def test_both_trades_are_there() -> None:
    assert {"hyperbaric-14m", "hypoxia-25"} <= {path.stem for path in SHEETS}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("asks: conductor", "ask: conductor"),
        ("asks: conductor", ""),
        ("voxlog-sheet: 1", "voxlog-sheet: 2"),
        ("title: Run", "title: 7"),
        ("- item: 1\n", "- item: one\n"),
        ("- item: 1\n", "- thing: 1\n"),
        ("min: 1600", "min: low"),
        ("within: 4", "within: 0"),
        ("hold the run", "{stop: it}"),
        ("unit: psi", "unit: a b"),
        ("asks: conductor", "asks: The Conductor"),
    ],
)
def test_broken_sheets_do_not_fit(
    small_sheet: str, validator: Draft202012Validator, old: str, new: str
) -> None:
    data: Any = read_tree(small_sheet).data
    assert validator.is_valid(data)
    assert small_sheet.count(old) == 1
    assert not validator.is_valid(read_tree(small_sheet.replace(old, new)).data)


def test_every_key_is_described() -> None:
    schema = json_schema()
    parts = [schema, *schema["$defs"].values()]
    undescribed = [
        (part["title"], key)
        for part in parts
        for key, field in part["properties"].items()
        if not field.get("description")
    ]
    assert undescribed == []
