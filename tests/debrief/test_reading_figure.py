from dataclasses import replace

import pytest

from tests.debrief.made import EVENTS, SHEET, a_run, decided
from voxlog.debrief.reading_figure import item_values, reading_plots


def test_a_plot_of_each_reading_heard() -> None:
    (plot,) = reading_plots(a_run())
    assert (plot.name, plot.unit, plot.limits, plot.outside) == (
        "saturation",
        "%",
        "70 to 100 %",
        1,
    )
    assert [mark.shape for mark in plot.marks] == ["within", "outside"]
    assert plot.rows == ((11, True), (12, False))
    assert plot.low is not None
    assert plot.marks[0].y < plot.low < plot.marks[1].y
    assert reading_plots(a_run(EVENTS[:3])) == []


def test_an_unsure_reading_is_hollow() -> None:
    unsure = replace(EVENTS[10], flags=("uncertain",))
    (plot,) = reading_plots(a_run([unsure]))
    assert [mark.shape for mark in plot.marks] == ["unsure"]


def test_a_reading_corrected_in_review_counts_as_corrected() -> None:
    right = replace(EVENTS[11], value=85.0, flags=())
    (plot,) = reading_plots(a_run(decisions=[decided(12, "corrected", "eight five", event=right)]))
    assert plot.outside == 0


def test_a_reading_without_limits_and_with_one_value() -> None:
    sheet = SHEET.replace("min: 70, max: 100, low: 40", "low: 0, high: 200")
    (plot,) = reading_plots(a_run([EVENTS[10]], sheet=sheet))
    assert (plot.low, plot.high, plot.limits) == (None, None, "any value in %")
    assert plot.inside[1] > 0


def test_a_reading_of_a_phase_has_its_plot_too() -> None:
    line = next(line for line in SHEET.splitlines() if "id: saturation" in line)
    sheet = SHEET.replace("readings:\n" + line + "\n", "")
    sheet = sheet.replace("    title: Climb\n", f"    title: Climb\n    readings:\n    {line}\n")
    assert [plot.name for plot in reading_plots(a_run(sheet=sheet))] == ["saturation"]


@pytest.mark.parametrize(
    ("value", "at", "within"), [(1500, 33.3, False), (1600, 40.0, True), (2600, 100, False)]
)
def test_the_value_of_an_item_on_its_scale(value: float, at: float, within: bool) -> None:
    event = replace(EVENTS[1], value=float(value))
    (one,) = item_values(a_run([event]))
    assert (one.at, one.within, one.limits) == (
        pytest.approx(at, abs=0.1),
        within,
        "1,600 to 2,200 psi",
    )
    assert 0 <= one.low < one.high <= 100
