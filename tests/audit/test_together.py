"""Pairs that go wrong together."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.stats import poisson
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.rates import confint_poisson

from tests.audit.table import rows
from voxlog.audit.together import together

ITEMS = 12


def made_up(runs: int, seed: int, pair: float = 0.0) -> list[dict[str, Any]]:
    """Runs of different badness. Item 2 goes wrong with item 1 in such a share of the runs."""
    rng = np.random.default_rng(seed)
    given = []
    for run in range(runs):
        odds = 0.08 * rng.gamma(1.0, 1.0)
        wrong = rng.random(ITEMS) < odds / (1 + odds)
        wrong[1] |= wrong[0] and rng.random() < pair
        given += [
            {
                "run": f"r-{run}",
                "item": str(item + 1),
                "status": "skipped" if wrong[item] else "confirmed",
            }
            for item in range(ITEMS)
        ]
    return given


@pytest.fixture(scope="module")
def found() -> pd.DataFrame:
    return together(rows(*made_up(3000, seed=11, pair=0.4)))


def test_the_planted_pair_alone_is_found(found: pd.DataFrame) -> None:
    pairs = found[found["is_found"]]
    assert list(zip(pairs["first"], pairs["second"], strict=True)) == [("1", "2")]
    assert pairs["low"].iloc[0] > 2


def test_bad_runs_alone_make_no_pair() -> None:
    """Every pair is associated over all runs, which is no news."""
    given = made_up(3000, seed=12)
    frame = pd.DataFrame(given).assign(wrong=lambda table: table["status"] == "skipped")
    wide = frame.pivot_table(index="run", columns="item", values="wrong", aggfunc="max")
    pairs = wide.astype(float).corr().to_numpy()[np.triu_indices(ITEMS, 1)]
    assert pairs.mean() > 0.03
    table = together(rows(*given))
    assert not table["is_found"].any()
    # And not by way of too large an expectation: over all pairs it is what happened.
    assert table["expected"].sum() == pytest.approx(table["both"].sum(), rel=0.001)


def test_tests_intervals_and_adjustment_are_those_of_another_library(found: pd.DataFrame) -> None:
    low, high = confint_poisson(found["both"].to_numpy(), 1, "exact-c")
    np.testing.assert_allclose(found["low"], low / found["expected"])
    np.testing.assert_allclose(found["high"], high / found["expected"])
    p = 1 - poisson.cdf(found["both"] - 1, found["expected"])
    np.testing.assert_allclose(found["p_adjusted"], multipletests(p, 0.05, "fdr_by")[1], atol=1e-9)


def test_both_is_counted_in_runs(found: pd.DataFrame) -> None:
    given = pd.DataFrame(made_up(3000, seed=11, pair=0.4)).query("status == 'skipped'")
    runs = {item: set(group["run"]) for item, group in given.groupby("item")}
    for row in found.to_dict("records"):
        assert row["both"] == len(runs[row["first"]] & runs[row["second"]])
        assert row["runs"] == 3000


def test_items_of_two_sheets_are_no_pair() -> None:
    other = [
        {**row, "sheet": "other", "run": "o" + row["run"], "item": str(int(row["item"]) + 50)}
        for row in made_up(900, seed=14)
    ]
    table = together(rows(*made_up(900, seed=15), *other))
    is_other = table["sheet"] == "other"
    assert (table.loc[is_other, ["first", "second"]].astype(int) > 50).all(axis=None)
    assert (table.loc[~is_other, ["first", "second"]].astype(int) < 50).all(axis=None)


def test_nothing_wrong_makes_no_table() -> None:
    table = together(rows({}, {"item": "2"}))
    assert table.empty and "is_found" in table
