"""Rates by group."""

import numpy as np
import pytest
from scipy.stats import binomtest
from statsmodels.stats.multitest import multipletests

from tests.audit.table import rows
from voxlog.audit.interval import wilson
from voxlog.audit.rates import BY, rates


def test_every_row_is_counted_once_in_its_group() -> None:
    table = rates(
        rows(
            {"item": "2", "status": "skipped"},
            {"item": "2"},
            {"item": "10", "flags": "out-of-order", "delay_ms": 100.0},
            {"item": "10", "status": "unconfirmed"},
            {"item": "10", "sheet": "other", "delay_ms": 900.0},
            {"kind": "reading", "item": "2", "status": ""},
        )
    )
    found = {
        (row["sheet"], row["item"], row["measure"]): (row["runs"], row["n"], row["count"])
        for row in table.to_dict("records")
    }
    assert found == {
        ("other", "10", "skipped"): (1, 1, 0),
        ("other", "10", "out_of_order"): (1, 1, 0),
        ("other", "10", "unconfirmed"): (1, 1, 0),
        ("other", "10", "too_fast"): (1, 1, 0),
        ("tiny", "2", "skipped"): (2, 2, 1),
        ("tiny", "2", "out_of_order"): (2, 2, 0),
        ("tiny", "2", "unconfirmed"): (2, 2, 0),
        ("tiny", "2", "too_fast"): (0, 0, 0),
        ("tiny", "10", "skipped"): (2, 2, 0),
        ("tiny", "10", "out_of_order"): (2, 2, 1),
        ("tiny", "10", "unconfirmed"): (2, 2, 1),
        ("tiny", "10", "too_fast"): (1, 1, 1),
    }
    assert list(dict.fromkeys(zip(table["sheet"], table["item"], strict=True))) == [
        ("other", "10"),
        ("tiny", "2"),
        ("tiny", "10"),
    ]


@pytest.mark.parametrize("by", BY)
def test_groups_add_up_to_all_rows(by: str) -> None:
    rng = np.random.default_rng(3)
    given = [
        {
            "run": f"r-{n // 4}",
            "item": str(n % 4),
            "position": ("attendant", "operator")[n % 2],
            "crew": f"C-{rng.integers(3)}",
            "start": f"2026-0{rng.integers(1, 4)}-01T00:00Z",
            "status": ("skipped", "confirmed")[int(rng.random() < 0.7)],
        }
        for n in range(400)
    ]
    table = rates(rows(*given), by)
    skipped = table[table["measure"] == "skipped"]
    assert skipped["n"].sum() == 400
    assert skipped["count"].sum() == sum(row["status"] == "skipped" for row in given)


def test_rows_of_one_run_widen_the_interval() -> None:
    """Ten rows of each run that are all wrong or all right are worth one."""
    given = [
        {"run": f"r-{n // 10}", "status": "skipped" if n < 100 else "confirmed"} for n in range(500)
    ]
    row = rates(rows(*given), "position").query("measure == 'skipped'").iloc[0]
    low, high = wilson(10, 50)
    assert row["design_effect"] == pytest.approx(10, rel=0.03)
    assert (row["low"], row["high"]) == pytest.approx((float(low), float(high)), abs=0.002)


def test_only_a_rate_that_chance_does_not_explain_is_above_all() -> None:
    given = [
        {"item": str(item), "status": "skipped" if n < share * 200 else "confirmed"}
        for item, share in ((1, 0.2), (2, 0.05), (3, 0.05), (4, 0.06))
        for n in range(200)
    ]
    skipped = rates(rows(*given)).query("measure == 'skipped'")
    assert list(skipped.loc[skipped["is_high"], "item"]) == ["1"]


def test_the_test_is_the_exact_binomial_one() -> None:
    given = [
        {"item": str(item), "status": "skipped" if n < count else "confirmed"}
        for item, count in ((1, 9), (2, 2), (3, 0), (4, 1))
        for n in range(60)
    ]
    skipped = rates(rows(*given)).query("measure == 'skipped'")
    p = [binomtest(count, 60, 12 / 240, "greater").pvalue for count in (9, 2, 0, 1)]
    assert list(skipped["p_adjusted"]) == pytest.approx(multipletests(p, 0.05, "fdr_bh")[1])


def test_doubt_is_added_up_over_what_was_counted() -> None:
    given = [
        {"item": "1", "status": "skipped", "p": 0.6},
        {"item": "1", "status": "skipped", "p": 0.9},
        {"item": "1", "status": "skipped", "p": 0.2, "review": "agreed"},
        {"item": "1", "p": 0.1},
    ]
    skipped = rates(rows(*given)).query("measure == 'skipped'")
    assert list(skipped["errors"]) == pytest.approx([0.5])
