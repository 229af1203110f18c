"""What a row counts as."""

from datetime import UTC, datetime

import pandas as pd
import pytest

from tests.audit.table import raw_rows, rows
from voxlog.audit.rows import MEASURES, NO_CODE, UNKNOWN, items_of, natural_key, prepare


@pytest.mark.parametrize(
    ("row", "counts_as", "is_wrong"),
    [
        ({}, set(), False),
        ({"status": "skipped"}, {"skipped"}, True),
        ({"status": "unconfirmed"}, {"unconfirmed"}, True),
        ({"status": "negative"}, set(), True),
        ({"flags": "out-of-order"}, {"out_of_order"}, True),
        ({"flags": "out-of-order;uncertain"}, {"out_of_order"}, True),
        ({"status": "unconfirmed", "flags": "off-limit;misread"}, {"unconfirmed"}, True),
        ({"flags": "off-limit"}, set(), True),
        # When, and how sure, is not whether.
        ({"flags": "late;repeated;uncertain"}, set(), False),
        # On the floor is not under it; before the end of the challenge is.
        ({"delay_ms": 299.0}, {"too_fast"}, False),
        ({"delay_ms": 300.0}, set(), False),
        ({"delay_ms": -80.0}, {"too_fast"}, False),
    ],
)
def test_a_row_counts_as_its_status_and_flags_say(
    row: dict[str, object], counts_as: set[str], is_wrong: bool
) -> None:
    [found] = rows(row, floor_s=0.3).to_dict("records")
    assert {measure.name for measure in MEASURES if found[measure.name]} == counts_as
    assert found["wrong"] == is_wrong


def test_a_delay_that_nobody_knows_is_neither_fast_nor_slow() -> None:
    table = rows({}, {"delay_ms": 100.0})
    assert list(table["timed"]) == [False, True]
    assert list(table["too_fast"]) == [False, True]


def test_doubt_ends_where_people_agreed() -> None:
    table = rows(*({"p": 0.6, "review": word} for word in ("", "open", "disputed", "agreed")))
    assert list(table["doubt"]) == pytest.approx([0.4, 0.4, 0.4, 0.0])


@pytest.mark.parametrize(
    ("crew", "shown"),
    [("C-12", "C-12"), ("MO7", "MO7"), ("Smith", NO_CODE), ("c-12", NO_CODE), ("", UNKNOWN)],
)
def test_crew_is_shown_by_code_only(crew: str, shown: str) -> None:
    assert list(rows({"crew": crew}, {})["crew"]) == [shown, "C-12"]


def test_the_month_is_that_of_the_start_in_utc() -> None:
    starts = [datetime(2026, 12, 1, 0, 30, tzinfo=UTC), datetime(2025, 1, 31, tzinfo=UTC), None]
    table = rows(*({"start": start} for start in starts))
    assert list(table["month"].astype(object).where(table["month"].notna(), None)) == [
        "2026-12",
        "2025-01",
        None,
    ]


def test_a_table_from_before_the_delays_is_read() -> None:
    old = raw_rows({}).drop(columns=["delay_ms", "limit_low", "limit_high"])
    assert not prepare(old)["timed"].any()


def test_only_items_are_items() -> None:
    assert len(items_of(rows({}, {"kind": "reading"}, {"kind": "callout"}))) == 1


def test_the_given_table_stays_as_it_was() -> None:
    table = raw_rows({"crew": "Smith"})
    before = table.copy()
    prepare(table)
    pd.testing.assert_frame_equal(table, before)


def test_numbers_are_sorted_as_numbers() -> None:
    names = ["10", "saturation", "2", "altitude", "1"]
    assert sorted(names, key=natural_key) == ["1", "2", "10", "altitude", "saturation"]
