"""A proposal becomes a right sheet that differs in what was proposed and in nothing else."""

import difflib
from pathlib import Path

import pytest

from voxlog.learn.change import change_of
from voxlog.learn.lesson import Lesson, LessonKind
from voxlog.learn.proposal import Proposal
from voxlog.sheet.load import read_sheet

ROOT = Path(__file__).parents[2]
SHEETS = sorted((ROOT / "grammars").glob("*.yaml"))
DEMO = (ROOT / "grammars/demo.yaml").read_text(encoding="utf-8")


def propose(
    kind: LessonKind, step: str, act: str = "", phrase: str = "", unit: str = ""
) -> Proposal:
    lesson = Lesson(kind, step, "run", "a", 1, ("C-12",), act=act, phrase=phrase, unit=unit)
    return Proposal(kind, step, act, phrase, unit, (lesson,))


def new_lines(before: str, after: str) -> list[str]:
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return [line[:1] + line[2:].strip() for line in lines if line[0] in "+-"]


@pytest.mark.parametrize(
    ("proposal", "lines"),
    [
        (
            propose("response", "8", "confirm", "sensor is fine"),
            [
                '-confirm: ["good trace", "tracing well"]',
                '+confirm: ["good trace", "tracing well", "sensor is fine"]',
            ],
        ),
        (
            propose("misheard", "6", "deny", "not connected"),
            ['+# "not connected" was heard where it was not said; find other words'],
        ),
        (
            propose("misheard", "6", "confirm"),
            ["+# an answer was given and not heard; find other words"],
        ),
        (
            propose("misheard", "2", "confirm"),
            ["+# an answer was given and not heard; find other words"],
        ),
        (
            propose("unit", "2", "item", unit="bar"),
            [
                "+# converted from psi: step 50, min 1600, max 2200, low 1000, high 2500",
                "-value: {unit: psi, min: 1600, max: 2200, low: 1000, high: 2500, step: 50, "
                'say: ["{value} [psi]"]}',
                "+value: {unit: bar, min: 112, max: 150, low: 68, high: 174, step: 2, "
                'say: ["{value} [bar]"]}',
            ],
        ),
        (
            propose("unit", "9", "item", unit="Hz"),
            ["+# always spoken in Hz; change unit and limits"],
        ),
        (
            propose("unit", "climb", "callout", unit="m"),
            ["+# always spoken in m; change unit and limits"],
        ),
        (
            propose("unit", "saturation", "reading", unit="kPa"),
            ["+# always spoken in kPa; change unit and limits"],
        ),
    ],
)
def test_the_lines_that_change(proposal: Proposal, lines: list[str]) -> None:
    change = change_of(DEMO, proposal)
    assert change.text is not None
    assert new_lines(DEMO, change.text) == lines
    read_sheet(change.text)


def test_only_what_is_proposed_changes_in_the_sheet() -> None:
    change = change_of(DEMO, propose("response", "8", "confirm", "sensor is fine"))
    assert change.text is not None
    before, after = read_sheet(DEMO).model_dump(), read_sheet(change.text).model_dump()
    steps = before["phases"][0]["steps"]
    steps[7]["confirm"] = (*steps[7]["confirm"], "sensor is fine")
    assert after == before


@pytest.mark.slow
@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.stem)
def test_the_items_of_shipped_sheets_take_every_proposal(path: Path) -> None:
    """Three of each sheet: reading a sheet so many times takes long."""
    text = path.read_text(encoding="utf-8")
    sheet = read_sheet(text)
    for item in (sheet.items[0], sheet.items[len(sheet.items) // 2], sheet.items[-1]):
        for act in ("confirm", "deny"):
            change = change_of(text, propose("response", item.key, act, "quite another answer"))
            assert change.text is not None
            new = read_sheet(change.text).item(item.number)
            assert getattr(new, act) == (*getattr(item, act), "quite another answer")
            heard = (getattr(item, act) or ("",))[0]
            change = change_of(text, propose("misheard", item.key, act, heard))
            assert change.text is not None
            assert read_sheet(change.text).model_dump() == sheet.model_dump()


def test_what_the_sheet_cannot_take_is_left_out() -> None:
    change = change_of(DEMO, propose("response", "8", "deny", "good trace"))
    assert change.text is None
    assert "both confirms and denies" in change.what


def test_a_comment_that_is_there_is_not_put_again() -> None:
    proposal = propose("misheard", "6", "deny", "not connected")
    once = change_of(DEMO, proposal)
    assert once.text is not None
    again = change_of(once.text, proposal)
    assert again.text is None
    assert again.what.endswith("the sheet says so already")


def test_a_new_warning_is_told() -> None:
    change = change_of(DEMO, propose("response", "8", "confirm", "ok"))
    assert change.text is not None
    assert ["one short word" in warning for warning in change.warnings] == [True]


def test_narrow_limits_that_cannot_be_kept_are_left_to_people() -> None:
    """1 to 1.2 psi, heard in steps of 1 psi, has no whole step of 0.05 bar inside."""
    text = DEMO.replace(
        "min: 1600, max: 2200, low: 1000, high: 2500, step: 50",
        "min: 1, max: 1.2, low: 0, high: 5, step: 1",
    )
    change = change_of(text, propose("unit", "2", "item", unit="bar"))
    assert change.text is None
    assert "above max" in change.what
