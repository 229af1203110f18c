"""Gates: how they are written, what they want closed, and that they make nothing else sayable."""

from pathlib import Path

import pytest

from voxlog.sheet.gates import gated_items, has_gate
from voxlog.sheet.load import load_sheet, read_sheet
from voxlog.sheet.model import Item, Sheet
from voxlog.sheet.phrases import ASKED_OF_THE_LOG, sheet_phrases
from voxlog.sheet.problem import SheetError

GRAMMARS = Path(__file__).parents[2] / "grammars"

HEAD = (
    "voxlog-sheet: 1\nid: s\ntitle: T\nsource: none\npositions: {c: C}\nasks: c\nphases:\n"
    "  - id: ground\n    title: Ground\n    steps:\n"
    "      - {item: 1, ask: first check, by: c}\n"
    "      - {item: 2, ask: second check, by: c, mandatory: false}\n"
    "      - {item: 3, ask: third check, by: c}\n"
    "  - id: run\n    title: Run\n"
)


def sheet_with(rest: str) -> Sheet:
    return read_sheet(HEAD + rest)


def step(gate: str = "") -> str:
    return (
        "    steps:\n      - {item: 4, ask: fourth check, by: c}\n"
        f"      - {{cue: off, by: c{gate}}}\n"
    )


@pytest.mark.parametrize(
    ("rest", "place", "opens_phase", "numbers"),
    [
        (step(), 4, False, []),
        (step(", gate: all"), 4, False, [1, 3, 4]),
        # named by its number, an item may be optional; a phase means its mandatory items
        (step(", gate: [2, 4]"), 4, False, [2, 4]),
        (step(", gate: [ground]"), 4, False, [1, 3]),
        (step(", gate: [run]"), 4, False, [4]),
        (step(", gate: [ground, 2]"), 4, False, [1, 2, 3]),
        # a phase's gate looks back from its beginning, whichever of its steps opens it
        (f"    gate: all\n{step()}", 3, True, [1, 3]),
        (f"    gate: all\n{step()}", 4, True, [1, 3]),
        (f"    gate: all\n{step()}", 4, False, []),
        (f"    gate: [2]\n{step(', gate: [run]')}", 4, True, [2, 4]),
    ],
)
def test_a_gate_wants_these_items_closed(
    rest: str, place: int, opens_phase: bool, numbers: list[int]
) -> None:
    sheet = sheet_with(rest)
    wanted = gated_items(sheet, place, opens_phase=opens_phase)
    assert [item.number for item in wanted] == numbers
    assert has_gate(sheet, place) is ("gate" in rest)


@pytest.mark.parametrize(
    ("gate", "message"),
    [
        ("[9]", "no item 9; name one there is"),
        ("[gruond]", "no phase `gruond`; did you mean `ground`?"),
        ("[5]", "item 5 does not stand before this gate; name what comes before it"),
        ("[later]", "phase `later` does not stand before this gate; name what comes before it"),
        ("some", "should be `all`, or a list of item numbers and phases like `[14, ground]`"),
        ("[]", "should be `all`, or a list"),
        ("[true]", "should be `all`, or a list"),
        ("[[1]]", "should be `all`, or a list"),
    ],
)
def test_a_gate_that_is_none_is_refused(gate: str, message: str) -> None:
    later = "  - id: later\n    title: Later\n    steps: [{item: 5, ask: fifth check, by: c}]\n"
    with pytest.raises(SheetError) as caught:
        sheet_with(step(f", gate: {gate}") + later)
    assert [message in problem.message for problem in caught.value.problems] == [True]


@pytest.mark.parametrize("gate", ["all", "[1, ground]"])
def test_gates_and_time_limits_make_nothing_sayable(gate: str) -> None:
    """Recognition is fitted to what a sheet makes sayable."""
    plain = sheet_with(step())
    gated = sheet_with(f"    gate: {gate}\n    time-limit: 60\n{step(f', gate: {gate}')}")
    assert sheet_phrases(gated) == sheet_phrases(plain)


@pytest.mark.parametrize("path", sorted(GRAMMARS.glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_sheets_ask_nothing_of_the_log(path: Path) -> None:
    assert not {phrase.act for phrase in sheet_phrases(load_sheet(path))} & ASKED_OF_THE_LOG


@pytest.mark.parametrize(
    ("name", "places"),
    [
        ("demo", {"11": "all", "masks-off": "all"}),
        ("hypoxia-25", {"31": "all", "36": ("ear-check",), "masks-off": ("plateau",), "56": "all"}),
        ("hyperbaric-14m", {"leave-surface": "all", "on-oxygen": ("surface", "press", 14)}),
    ],
)
def test_shipped_sheets_have_these_gates(name: str, places: dict[str, object]) -> None:
    sheet = load_sheet(GRAMMARS / f"{name}.yaml")
    found = {step.key: step.gate for _, step in sheet.steps if step.gate is not None}
    assert found == places
    for place, (_, gate_step) in enumerate(sheet.steps):
        if gate_step.gate is not None:
            assert all(isinstance(item, Item) for item in gated_items(sheet, place))
            assert gated_items(sheet, place)
