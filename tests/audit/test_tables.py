"""Tables of the page: what a cell says of a number, shown or hidden."""

import pytest

from tests.audit.test_outstanding import skipped, small
from voxlog.audit import tables
from voxlog.audit.wording import LABELS


def cells(table: tables.Table) -> dict[str, tuple[str, ...]]:
    return {row[0]: row[1:] for row in table.rows}


@pytest.fixture(scope="module")
def rows() -> list[dict[str, object]]:
    return [*skipped({"1": 60, "2": 8, "3": 3, "4": 0}, 100), *skipped({"5": 1}, 3)]


def test_rates_say_their_interval_and_of_how_many(rows: list[dict[str, object]]) -> None:
    found = cells(tables.rate_table(small(rows)))
    assert found["item 1"][0] == "▲ 60.0 % (50.2 to 69.1)\n60 of 100"
    assert found["item 3"][0] == "1 to 4 of 100"
    assert found["item 4"][0] == "0.0 % (0.0 to 3.7)\n0 of 100"
    assert found["item 5"][0] == "fewer than 5 runs"
    # Two are hidden, so that neither follows from the total.
    assert found["item 2"][0] == "8.0 % (4.1 to 15.0)\n8 of 100"


def test_all_rows_together(rows: list[dict[str, object]]) -> None:
    found = cells(tables.totals_table(small(rows)))
    assert list(found) == list(LABELS.values())
    assert found["skipped"] == ("403", "72", "17.9 %", "0", "17.9 % to 17.9 %")


def test_every_row_is_as_wide_as_the_headings(rows: list[dict[str, object]]) -> None:
    result = small(rows)
    made = [
        tables.totals_table(result),
        tables.high_table(result),
        tables.rate_table(result),
        tables.delay_table(result),
        tables.signal_table(result),
        tables.pair_table(result),
        tables.drift_table(result),
        tables.strata_table(result),
    ]
    for table in made:
        assert all(len(row) == len(table.headers) for row in table.rows)
        assert all(table.headers)
