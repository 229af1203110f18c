from dataclasses import replace

from tests.debrief.made import EVENTS, SHEET, a_run, decided
from voxlog.debrief.altitude import altitude_of
from voxlog.debrief.findings import findings_of_run
from voxlog.debrief.holds import holds_of
from voxlog.debrief.outcome import outcome_lines
from voxlog.debrief.run import Run


def lines(run: Run) -> tuple[str, str, str]:
    return outcome_lines(run, findings_of_run(run), altitude_of(run), holds_of(run))


def test_three_lines() -> None:
    assert lines(a_run()) == (
        "2 of 4 items confirmed; 1 answered negative, 1 skipped, not heard.",
        "5 findings, 5 to decide. "
        "First: item 2 supply pressure, outside limits: 1,500 psi, at 00:06.",
        "Recorded 01:40 (min:s); highest level called 10,000 ft at 00:30; 1 hold, 00:12 in all.",
    )


def test_a_run_without_anything_heard() -> None:
    assert lines(a_run([], [])) == (
        "0 of 4 items confirmed.",
        "No findings in what was heard.",
        "Recorded 01:40 (min:s); no hold heard.",
    )


def test_after_a_review_the_lines_say_what_stands() -> None:
    rows = (2, 3, 5, 12)
    some = lines(a_run(decisions=[decided(row, "cleared", "misheard") for row in rows]))
    assert some[0] == "3 of 4 items confirmed; 1 answered negative."
    assert some[1] == (
        "5 findings, 4 decided, 1 to decide. "
        "First: item 4 mask back on, answered negative; unsure, listen again, at 01:30."
    )
    every = lines(a_run(decisions=[decided(row, "stands") for row in (*rows, 14)]))
    assert every[1] == "5 findings, all of them decided."


def test_a_hyperbaric_run_has_a_deepest_level() -> None:
    rows = [replace(row, unit="msw") if row.unit == "ft" else row for row in EVENTS]
    assert (
        "; deepest level called 10,000 msw at 00:30;"
        in lines(a_run(rows, sheet=SHEET.replace("unit: ft", "unit: msw")))[2]
    )


def test_the_last_row_of_an_item_counts() -> None:
    denied = EVENTS[13]
    run = a_run([denied, EVENTS[0]])
    assert lines(run)[0] == "1 of 4 items confirmed; 1 answered negative."
