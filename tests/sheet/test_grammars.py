"""The shipped sheets are right, whole, and worded so that they can be told apart."""

from pathlib import Path

import pytest

from voxlog.sheet.check import warnings
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Item, Sheet

GRAMMARS = Path(__file__).parents[2] / "grammars"


@pytest.fixture(params=["hypoxia-25", "hyperbaric-14m"])
def sheet(request: pytest.FixtureRequest) -> Sheet:
    return load_sheet(GRAMMARS / f"{request.param}.yaml")


def test_items_are_numbered_without_gaps(sheet: Sheet) -> None:
    assert [item.number for item in sheet.items] == list(range(1, len(sheet.items) + 1))


def test_challenges_are_two_to_six_words_and_differ(sheet: Sheet) -> None:
    asked = [text for item in sheet.items for text in item.ask]
    assert len(set(asked)) == len(asked)
    unusual = [text for text in asked if not 2 <= len(text.split()) <= 6]
    assert set(unusual) <= {"altimeters"}


def test_every_state_can_be_denied_and_every_item_answered(sheet: Sheet) -> None:
    for item in sheet.items:
        assert item.value or (item.confirm and item.deny), item.number


def test_the_source_says_that_it_is_invented(sheet: Sheet) -> None:
    assert "invented for demonstration" in sheet.source


def test_the_formats_parts_are_all_used(sheet: Sheet) -> None:
    items = sheet.items
    parts = {
        "group": any(item.group for item in items),
        "stand-in": any(item.stand_in for item in items),
        "optional": any(not item.mandatory for item in items),
        "value": any(item.value for item in items),
        "cue": any(not isinstance(step, Item) for _, step in sheet.steps),
        "read-back": any(call.read_back for phase in sheet.phases for call in phase.callouts),
        "elapsed": any(phase.elapsed for phase in sheet.phases),
        "readings": bool(sheet.readings),
        "hold": bool(sheet.hold and sheet.resume),
    }
    assert all(parts.values()), parts


@pytest.mark.parametrize(
    ("name", "texts"),
    [("hypoxia-25", ["`set`", "`set`"]), ("hyperbaric-14m", [])],
)
def test_warnings_are_those_meant_to_be_there(name: str, texts: list[str]) -> None:
    """The hypoxia sheet keeps "set": crews do say it, and the recogniser must cope."""
    found = warnings(load_sheet(GRAMMARS / f"{name}.yaml"))
    assert [problem.message.split()[0] for problem in found] == texts
