import io
from dataclasses import replace

import pytest
from rich.console import Console

from tests.bench.contest import COLUMNS, Column, Entry, Timing, contest_table, lost_cells, winners
from tests.bench.pool import pool
from voxlog.follow.event import Event

TIMED = Timing("run-x", seconds=10, audio_seconds=300, peak_mb=500, load=0.1, processor_seconds=18)
[SPEED] = [column for column in COLUMNS if column.name.startswith("Times")]
[MEMORY] = [column for column in COLUMNS if column.name.startswith("Peak")]
[FALSE] = [column for column in COLUMNS if column.name.startswith("False")]


def row(item: str, start: float, status: str = "confirmed") -> Event:
    return Event(start, start + 1, "item", "ground", item, "operator", status=status)  # type: ignore[arg-type]


TRUTH = [row("1", 0), row("2", 10)]


def entry(title: str, *, ours: bool = False, seconds: float = 10, whole: bool = True) -> Entry:
    return Entry(title, ours, None, 0, (replace(TIMED, seconds=seconds),), 1, whole)


@pytest.mark.parametrize(
    ("column", "expected"),
    [(SPEED, [False, True, True, False]), (MEMORY, [True, True, True, False])],
)
def test_all_that_show_the_best_figure_win_it(column: Column, expected: list[bool]) -> None:
    entries = [
        entry("slow", seconds=20),
        entry("quick", seconds=10),
        entry("as quick", seconds=10.001),
        entry("quickest, of one run only", seconds=1, whole=False),
    ]
    assert winners(column, entries) == expected


def test_what_was_not_measured_wins_nothing() -> None:
    nothing = Entry("nothing", is_ours=True, pooled=None, hours=0, timings=())
    assert [winners(column, [nothing]) for column in COLUMNS] == [[False]] * len(COLUMNS)
    assert {column.shown(nothing) for column in COLUMNS} == {"-"}


def test_speed_is_pooled_and_memory_is_the_highest() -> None:
    both = replace(
        entry("both"), timings=(TIMED, replace(TIMED, seconds=20, peak_mb=700, load=1.52))
    )
    assert both.times_real_time == 600 / 30
    assert both.peak_mb == 700
    assert both.loads == "0.1-1.5"


def test_false_findings_are_counted_an_hour() -> None:
    log = [row("1", 0), row("2", 10, "negative")]
    once = Entry("x", is_ours=False, pooled=pool([(log, TRUTH)]), hours=0.5, timings=())
    assert FALSE.shown(once) == "2"


def test_a_figure_that_others_win_is_named_with_ours() -> None:
    entries = [entry("ours", ours=True, seconds=20), entry("theirs", seconds=10)]
    assert list(lost_cells(entries)) == ["Times real time: theirs 30.0; ours 15.0"]
    assert list(lost_cells([*entries, entry("ours too", ours=True)])) == []


def test_the_table_has_a_part_for_each_condition_and_marks_the_best() -> None:
    entries = [entry("ours", ours=True, seconds=20), entry("theirs", whole=False)]
    console = Console(width=130, file=io.StringIO())
    console.print(contest_table({"clean": entries, "10": entries}))
    text = console.file.getvalue()  # type: ignore[attr-defined]
    assert [name in text for name in ("clean", "10 dB")] == [True, True]
    assert text.count("15.0 ▲") == 2
    assert "30.0 ▲" not in text
