"""What stands out, in sentences."""

from typing import Any

from tests.audit.table import raw_rows
from voxlog.audit.audit import Audit, audit
from voxlog.audit.outstanding import outstanding
from voxlog.audit.question import Found, Question


def small(rows: list[dict[str, Any]], **question: Any) -> Audit:
    table = raw_rows(*rows)
    return audit(Found(table, table["run"].nunique(), 0), Question(**question))


def skipped(counts: dict[str, int], size: int, **more: Any) -> list[dict[str, Any]]:
    """Items with so many skipped rows, each row in a run of its own."""
    return [
        {"item": item, "status": "skipped" if n < count else "confirmed", **more}
        for item, count in counts.items()
        for n in range(size)
    ]


def test_a_rate_above_all_with_its_interval() -> None:
    [line] = outstanding(small(skipped({"1": 30, "2": 5, "3": 5}, 100)))
    assert line.section == "rates"
    assert line.text == (
        "Above the rate of all rows (13.3 %) skipped: item 1 at 30.0 % (21.9 to 39.6)"
    )


def test_a_sheet_is_named_where_there_are_several() -> None:
    rows = skipped({"1": 30, "2": 5}, 100) + skipped({"1": 5}, 100, sheet="other")
    assert "tiny, item 1 at" in outstanding(small(rows))[0].text


def test_what_is_hidden_is_not_said() -> None:
    """Four of four is above all others for sure, and still a small number."""
    rows = skipped({"1": 0, "2": 0, "3": 0}, 200) + skipped({"4": 4}, 4)
    assert outstanding(small(rows)) == []
    assert "item 4" in outstanding(small(rows, min_cell=1))[0].text


def test_nothing_out_of_line_is_no_sentence() -> None:
    assert outstanding(small(skipped({"1": 10, "2": 11, "3": 9}, 100))) == []


def test_counts_that_may_be_the_recogniser_s_are_said() -> None:
    rows = skipped({"1": 20, "2": 20}, 100, p=0.6)
    lines = outstanding(small(rows))
    assert [line.text for line in lines] == [
        "About 40% of the rows counted as skipped may be the recogniser's error"
    ]
    agreed = [{**row, "review": "agreed"} for row in rows]
    assert outstanding(small(agreed)) == []
