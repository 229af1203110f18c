"""What is drawn of a chart whose small counts are hidden."""

import numpy as np
import pytest

from voxlog.audit.control_chart import p_chart
from voxlog.audit.figures import chart_figure, rate_figure
from voxlog.audit.trend import Trend


def trend(counts: list[int], size: int) -> Trend:
    names = tuple(f"2026-{n + 1:02}" for n in range(len(counts)))
    sizes = np.full(len(counts), size)
    return Trend(
        "tiny",
        "1",
        "skipped",
        "month",
        names,
        np.array(counts),
        sizes,
        sizes,
        p_chart(counts, sizes),
    )


def drawn_points(least: int) -> list[float]:
    figure = chart_figure(trend([10, 3, 12, 0, 9, 50], 100), least)
    [axes] = figure.axes
    [line] = [line for line in axes.lines if line.get_marker() == "o"]
    return list(np.asarray(line.get_ydata(), dtype=float))


def test_a_hidden_count_is_no_point() -> None:
    assert drawn_points(1) == [10, 3, 12, 0, 9, 50]
    assert np.isnan(drawn_points(5)[1])
    assert not np.isnan(np.delete(drawn_points(5), 1)).any()


def test_it_is_drawn_as_the_stretch_in_which_it_lies() -> None:
    [axes] = chart_figure(trend([10, 3, 12, 0, 9, 50], 100), 5).axes
    [stretch] = [one for one in axes.collections if one.get_label() == "1 to 4 counted"]
    [segment] = stretch.get_segments()
    assert segment.tolist() == [[1, 1], [1, 4]]


def test_a_legend_names_all_that_is_there() -> None:
    figure = chart_figure(trend([10, 3, 12, 0, 9, 50], 100), 5)
    words = [text.get_text() for text in figure.legends[0].get_texts()]
    assert words == ["limits, 3 sd", "mean", "1 to 4 counted", "rule 1"]


def test_axes_have_names_and_units() -> None:
    import pandas as pd

    rates = pd.DataFrame({"rate": [0.1, 0.2], "low": [0.05, 0.1], "high": [0.2, 0.3]})
    for figure in (chart_figure(trend([5] * 6, 50), 5), rate_figure(rates, ["a", "b"], 0.15)):
        [axes] = figure.axes
        assert "rate, %" in (axes.get_xlabel(), axes.get_ylabel())
    assert axes.get_yticklabels()[0].get_text() == "a"
    assert axes.lines[0].get_xdata()[0] == pytest.approx(10)
