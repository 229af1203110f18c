"""`voxlog sheet`: every fault with its place, the print, the schema."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

GRAMMARS = Path(__file__).parents[2] / "grammars"
Run = Callable[..., tuple[int, str, str]]


@pytest.mark.parametrize("name", ["demo", "hypoxia-25", "hyperbaric-14m"])
def test_shipped_sheets_are_right(name: str, voxlog: Run) -> None:
    code, out, err = voxlog("sheet", "check", GRAMMARS / f"{name}.yaml")
    assert (code, err) == (0, "")
    assert "a right sheet" in out.splitlines()[-1]


def test_every_fault_is_listed_with_its_place(voxlog: Run, sheet: Path) -> None:
    text = sheet.read_text().replace("item: 2", "item: 1").replace("asks: cond", "askes: cond")
    sheet.write_text(text)
    code, out, err = voxlog("sheet", "check", sheet)
    assert (code, err) == (2, "")
    lines = out.splitlines()
    assert len(lines) >= 3  # the unknown key, the missing one, the number used twice
    for line in lines:
        assert line.startswith(f"{sheet}:")
        assert line.removeprefix(f"{sheet}:").split(":")[0].isdecimal()


def test_warnings_are_called_warnings(voxlog: Run, sheet: Path) -> None:
    sheet.write_text(sheet.read_text().replace(", deny: unreadable", ""))
    code, out, _ = voxlog("sheet", "check", sheet)
    assert code == 0
    assert f"{sheet}:11:" in out
    assert ": warning: item 1 has no `deny`" in out
    assert out.splitlines()[-1].endswith("warnings: 1")


def test_a_sheet_is_printed(voxlog: Run, sheet: Path) -> None:
    code, out, _ = voxlog("sheet", "show", sheet)
    assert code == 0
    assert "[ ]    1   intercom check" in out
    assert max(map(len, out.splitlines())) <= 80


def test_the_schema_is_json_and_the_one_in_grammars(voxlog: Run) -> None:
    code, out, _ = voxlog("sheet", "schema")
    assert code == 0
    assert json.loads(out) == json.loads((GRAMMARS / "sheet.schema.json").read_bytes())
