"""Small numbers are not shown, nor what they could be worked out from."""

import numpy as np
import pandas as pd
import pytest

from voxlog.audit.small_cells import hide_counts, hide_few_runs, hide_quantiles


def table(*counts: tuple[int, int]) -> pd.DataFrame:
    """Rows of (runs, count); a run has ten rows."""
    frame = pd.DataFrame(counts, columns=["runs", "count"])
    frame["n"] = frame["runs"] * 10
    frame["measure"] = "skipped"
    frame["rate"] = frame["count"] / frame["n"]
    frame["low"], frame["high"], frame["errors"] = 0.0, 1.0, 0.5
    frame["is_high"] = True
    return frame


@pytest.mark.parametrize(
    ("counts", "hidden"),
    [
        ([(50, 0), (50, 5), (50, 9)], ["", "", ""]),
        ([(50, 1), (50, 4), (50, 5)], ["small-count", "small-count", ""]),
        ([(4, 0), (4, 9), (3, 2)], ["few-runs", "few-runs", "few-runs"]),
        # One alone could be had by subtraction: the next smallest goes with it, never a nought.
        ([(50, 3), (50, 20), (50, 8), (50, 0)], ["small-count", "", "beside-another", ""]),
        ([(4, 3), (50, 20), (50, 8)], ["few-runs", "", "beside-another"]),
        # A group that is hidden and has nothing gives nothing away.
        ([(4, 0), (50, 20), (50, 8)], ["few-runs", "", ""]),
        ([(50, 3), (50, 0)], ["small-count", ""]),
    ],
)
def test_which_rows_are_hidden(counts: list[tuple[int, int]], hidden: list[str]) -> None:
    shown = hide_counts(table(*counts), 5, ["measure"])
    assert list(shown["hidden"]) == hidden
    for name in ("count", "rate", "low", "high", "errors"):
        assert list(shown[name].isna()) == [bool(why) for why in hidden]
    assert list(shown["is_high"]) == [not why for why in hidden]
    assert list(shown["n"].isna()) == [why == "few-runs" for why in hidden]


def test_a_hidden_count_says_between_what_it_is() -> None:
    shown = hide_counts(table((50, 3), (50, 2), (50, 6)), 5, ["measure"])
    assert list(shown["at_most"].dropna()) == pytest.approx([4 / 500, 4 / 500])


def test_each_total_is_looked_at_alone() -> None:
    two = pd.concat([table((50, 3), (50, 9)), table((50, 7), (50, 9)).assign(measure="other")])
    shown = hide_counts(two.reset_index(drop=True), 5, ["measure"])
    assert list(shown["hidden"]) == ["small-count", "beside-another", "", ""]


def test_one_hides_nothing() -> None:
    given = table((1, 1), (2, 3))
    shown = hide_counts(given, 1, ["measure"])
    assert list(shown["hidden"]) == ["", ""]
    pd.testing.assert_frame_equal(
        shown[given.columns.to_list()], given, check_dtype=False, check_exact=True
    )


def test_a_quantile_needs_enough_beyond_it() -> None:
    names = ["lower_quartile_s", "median_s", "upper_quartile_s", "p95_s"]
    given = pd.DataFrame([[1.0] * 4] * 4, columns=names)
    given["runs"], given["n"] = [4, 10, 20, 100], [400, 10, 20, 100]
    shown = hide_quantiles(given, 5)[names].notna().to_numpy()
    assert shown.tolist() == [
        [False] * 4,
        [False, True, False, False],
        [True, True, True, False],
        [True] * 4,
    ]


def test_rows_on_few_runs_are_left_out() -> None:
    assert list(hide_few_runs(table((4, 1), (5, 1)), 5)["runs"]) == [5]
    assert np.isfinite(hide_few_runs(table((5, 1)), 5)["rate"]).all()
