"""The recogniser as a confound."""

import pytest

from tests.audit.table import rows
from voxlog.audit.confidence import by_confidence, possible_errors


def test_rows_are_in_the_stratum_of_their_p() -> None:
    given = [{"p": p, "status": "skipped"} for p in (0.0, 0.499, 0.5, 0.7, 0.9, 0.969, 0.97, 1.0)]
    table = by_confidence(rows(*given)).query("measure == 'skipped'")
    assert list(table["p_from"]) == [0.0, 0.5, 0.7, 0.9, 0.97]
    assert list(table["n"]) == [2, 1, 1, 2, 2]
    assert list(table["rate"]) == [1.0] * 5


def test_what_p_allows_a_rate_to_be() -> None:
    given = [
        {"status": "skipped", "p": 0.5},
        {"status": "skipped", "p": 0.9, "review": "agreed"},
        {"p": 0.8},
        {"p": 1.0},
    ]
    [row] = possible_errors(rows(*given)).query("measure == 'skipped'").to_dict("records")
    assert (row["n"], row["count"], row["rate"]) == (4, 2, 0.5)
    assert (row["errors"], row["passed_over"]) == pytest.approx((0.5, 0.2))
    assert (row["rate_least"], row["rate_most"]) == pytest.approx((1.5 / 4, 2.2 / 4))
