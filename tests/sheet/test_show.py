"""The printed sheet: everything to be said is on it, and it fits the paper."""

from pathlib import Path

import pytest

from voxlog.sheet.load import load_sheet, read_sheet
from voxlog.sheet.model import Sheet
from voxlog.sheet.show import LINES_A_PAGE, WIDTH, show

GRAMMARS = Path(__file__).parents[2] / "grammars"

RUN_OF_THE_SMALL_SHEET = """\
Run
---
[ ] cue    masks off on my mark,      conductor    at ____:____
           three, two, one, now
[ ]    6   colour                     attendant    lips pink (within 4 s)
    operator calls "passing ..." in ft; conductor reads back:
    [ ] 5,000   [ ] 10,000   [ ] 15,000   [ ] 20,000   [ ] 25,000
    operator calls the time since masks-off:
    [ ] 0:30   [ ] 1:00   [ ] 1:30   [ ] 2:00
    operator reads "saturation ...": 70 to 100 %

At any time
-----------
    attendant reads "pulse ...": 50 to 100 bpm

To stop: "hold the run"
To go on: "resume at item ..."
"""


def test_a_phase_is_printed_like_this(small_sheet: str) -> None:
    assert RUN_OF_THE_SMALL_SHEET in show(read_sheet(small_sheet))


@pytest.mark.parametrize(
    "line",
    [
        "A SMALL RUN",
        "Source: invented for tests",
        "operator     Operator",
        "[ ]    1   intercom check             attendant    loud and clear; or five by",
        "[ ]    2   oxygen supply              operator, or 1,600 to 2,200 psi  ______",
        "[ ]    4 | inner door                 attendant    door shut; or door closed",
    ],
)
def test_the_sheet_has_this_line(small_sheet: str, line: str) -> None:
    assert line in show(read_sheet(small_sheet)).splitlines()


@pytest.mark.parametrize(
    ("limits", "printed"),
    [
        ("min: 1600, max: 2200", "1,600 to 2,200 psi  ______"),
        ("min: 1600, low: 0, high: 3000", "1,600 psi or more  ______"),
        ("max: 2.5, low: 0, high: 3", "2.5 psi or less  ______"),
        ("low: 0, high: 3000", "psi  ______"),
    ],
)
def test_limits_are_printed_for_the_answer(small_sheet: str, limits: str, printed: str) -> None:
    text = small_sheet.replace("min: 1600, max: 2200, step: 50", f"{limits}, step: 1")
    (line,) = [line for line in show(read_sheet(text)).splitlines() if "oxygen supply" in line]
    assert line.endswith(f"operator, or {printed}")


def shipped() -> list[Sheet]:
    return [load_sheet(path) for path in sorted(GRAMMARS.glob("*.yaml"))]


def long_sheet() -> Sheet:
    """500 items with long wording, and a position with the longest name."""
    name = "p" * 40
    steps = "".join(
        f"      - {{item: {n}, ask: {'word ' * 30}, by: {name}, confirm: {'answer ' * 40}}}\n"
        for n in range(1, 501)
    )
    return read_sheet(
        f"voxlog-sheet: 1\nid: long\ntitle: {'Long ' * 50}\nsource: none\nasks: {name}\n"
        f"positions: {{{name}: {'title ' * 40}}}\nphases:\n"
        f"  - id: p\n    title: P\n    steps:\n{steps}"
    )


def crowded_sheet() -> Sheet:
    """More positions than lines on a page."""
    positions = ", ".join(f"p{n}: Position {n}" for n in range(150))
    return read_sheet(
        "voxlog-sheet: 1\nid: crowded\ntitle: Crowded\nsource: none\nasks: p0\n"
        f"positions: {{{positions}}}\nphases: [{{id: p, title: P}}]\n"
    )


@pytest.mark.parametrize(
    "sheet", [*shipped(), long_sheet(), crowded_sheet()], ids=lambda sheet: sheet.id
)
def test_every_page_fits_the_paper_and_cuts_no_step(sheet: Sheet) -> None:
    pages = show(sheet).split("\f")
    for number, page in enumerate(pages, start=1):
        lines = page.splitlines()
        assert len(lines) == LINES_A_PAGE
        assert max(map(len, lines)) <= WIDTH
        assert lines[-1].endswith(f"page {number} of {len(pages)}")
        body = [line for line in lines[:-1] if line]
        assert not body[0].startswith(" " * 8), "a page starts in the middle of a step"
        assert not body[-1].startswith("---"), "a heading stands alone at the foot"


@pytest.mark.parametrize("sheet", shipped(), ids=lambda sheet: sheet.id)
def test_every_item_is_to_be_ticked(sheet: Sheet) -> None:
    ticked = [
        line.split()[2] for line in show(sheet).split("\n") if line.lstrip("\f").startswith("[ ]")
    ]
    assert [number for number in ticked if number.isdigit()] == [item.key for item in sheet.items]


def test_gates_limits_and_questions_are_printed(small_sheet: str) -> None:
    text = "ask-by-voice: {call-word: logbook}\n" + small_sheet.replace(
        "    title: Run\n", "    title: Run\n    gate: all\n    time-limit: 90\n"
    ).replace("{cue: masks-off,", "{cue: masks-off, gate: [1, ground],").replace(
        "within: 4}", "within: 4, gate: [ground]}"
    )
    printed = show(read_sheet(text))
    for line in (
        "Run\n---\nBefore this phase: all closed.\nAt most 1.5 min at this level.\n[ ] cue ",
        "at ____:____ (gate: 1, ground\n",
        "(within 4 s, gate:",
        'To ask the log: "logbook, open items" / "logbook, time at altitude" /',
    ):
        assert line in printed
