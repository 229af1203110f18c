"""The whole audit of a made-up table, and the same numbers from DuckDB on the same Parquet."""

from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd
import pytest

from tests.audit.made_up import write_made_up
from voxlog.audit.audit import Audit, audit
from voxlog.audit.outstanding import outstanding
from voxlog.audit.question import Question
from voxlog.audit.rates import BY, By, rates
from voxlog.audit.read import read_rows
from voxlog.audit.rows import prepare

RUNS = 1000
HITS = {
    "skipped": "status = 'skipped'",
    "out_of_order": "list_contains(string_split(flags, ';'), 'out-of-order')",
    "unconfirmed": "status = 'unconfirmed'",
    "too_fast": "delay_ms < 300",
}
AMONG = {measure: "true" for measure in HITS} | {"too_fast": "delay_ms is not null"}
WRONG = """(status in ('skipped', 'unconfirmed', 'negative')
    or list_has_any(string_split(flags, ';'), ['out-of-order', 'off-limit', 'misread']))"""


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("table")
    write_made_up(folder, RUNS)
    return folder


@pytest.fixture(scope="module")
def rows(table: Path) -> pd.DataFrame:
    return prepare(read_rows([table], Question()).rows)


@pytest.fixture(scope="module")
def found(table: Path) -> Audit:
    """With every number shown."""
    question = Question(min_cell=1)
    return audit(read_rows([table], question), question)


@pytest.fixture
def select(table: Path) -> Any:
    def run(query: str) -> pd.DataFrame:
        rows = f"""(select * from read_parquet('{table}/*/*.parquet', hive_partitioning=true)
            where kind = 'item' and reviewed)"""
        return duckdb.sql(query.replace("ROWS", rows)).df()

    return run


def same(ours: pd.DataFrame, theirs: pd.DataFrame, keys: list[str]) -> None:
    """Equal numbers in the columns of theirs, whatever the order of the rows."""
    names = list(theirs.columns)
    left, right = (
        frame[names].astype(dict.fromkeys(keys, str)).sort_values(keys).reset_index(drop=True)
        for frame in (ours, theirs)
    )
    assert len(left) == len(right) > 0
    pd.testing.assert_frame_equal(left, right, check_dtype=False, rtol=1e-9, check_exact=False)


@pytest.mark.parametrize("measure", HITS)
@pytest.mark.parametrize("by", BY)
def test_rates_are_those_of_another_engine(
    rows: pd.DataFrame, select: Any, by: By, measure: str
) -> None:
    keys = {"item": ["sheet", "item"], "position": ["sheet", "position"]}.get(by, [by])
    where = "true" if by != "month" else "month <> 'unknown'"
    theirs = select(
        f"""select {", ".join(keys)}, count(distinct run) runs, count(*) n,
            count_if({HITS[measure]}) count, count_if({HITS[measure]}) / count(*) rate,
            sum(case when {HITS[measure]} and review <> 'agreed' then 1 - p else 0 end) errors
        from ROWS where {AMONG[measure]} and {where} group by all"""
    )
    ours = rates(rows, by).query("measure == @measure")
    same(ours, theirs, keys)


def test_wilson_s_limits_are_those_of_another_engine(found: Audit, select: Any) -> None:
    """By the formula of Wilson 1927 in SQL; an item has one row a run, so nothing is adjusted."""
    z = 1.959963984540054
    theirs = select(
        f"""select sheet, item,
            greatest(0, (k/n + {z}^2/(2*n) - {z}*sqrt(k/n*(1-k/n)/n + {z}^2/(4*n^2)))
                / (1 + {z}^2/n)) low,
            (k/n + {z}^2/(2*n) + {z}*sqrt(k/n*(1-k/n)/n + {z}^2/(4*n^2))) / (1 + {z}^2/n) high
        from (select sheet, item, count(*) n, count_if(status = 'skipped') k
            from ROWS group by all)"""
    )
    ours = found.rates.query("measure == 'skipped'").copy()
    ours["low"] = ours["low"].mask(ours["low"] < 1e-15, 0)
    theirs["low"] = theirs["low"].mask(theirs["low"] < 1e-15, 0)
    same(ours, theirs, ["sheet", "item"])


def test_delays_are_those_of_another_engine(found: Audit, select: Any) -> None:
    theirs = select(
        """select sheet, item, count(distinct run) runs, count(delay_ms) n,
            quantile_cont(delay_ms, 0.25) / 1000 lower_quartile_s,
            quantile_cont(delay_ms, 0.5) / 1000 median_s,
            quantile_cont(delay_ms, 0.75) / 1000 upper_quartile_s,
            quantile_cont(delay_ms, 0.95) / 1000 p95_s
        from ROWS where delay_ms is not null group by all"""
    )
    same(found.delays, theirs, ["sheet", "item"])


@pytest.mark.parametrize("measure", ["skipped", "unconfirmed"])
def test_points_of_charts_are_those_of_another_engine(
    found: Audit, select: Any, measure: str
) -> None:
    """Those of all items and those of each, by whichever period a chart has; limits by hand."""
    points = found.points.query("measure == @measure and n > 0")
    assert set(points["period"]) > {"month"}
    months = {"month": 1, "quarter": 3, "half-year": 6, "year": 12}
    drawn = points.assign(length=points["period"].map(months))
    charts = drawn[["sheet", "item", "length"]].drop_duplicates()
    theirs = select(
        f"""with spread as (
            select run, start, sheet, item, {HITS[measure]} hit from ROWS where start is not null
            union all
            select run, start, '', '', {HITS[measure]} from ROWS where start is not null),
        points as (
            select length, sheet, item,
                (year(start) * 12 + month(start) - 1) // length * length as first_month,
                count(distinct run) runs, count(*) n, count_if(hit) count
            from spread, (select unnest([1, 3, 6, 12]) length) group by all)
        select length, sheet, item,
            format('{{:04d}}-{{:02d}}', first_month // 12, first_month % 12 + 1) "from",
            runs, n, count, count / n rate,
            sum(count) over chart / sum(n) over chart centre
        from points window chart as (partition by length, sheet, item)"""
    )
    keys = ["length", "sheet", "item", "from"]
    same(drawn, theirs.merge(charts.astype({"sheet": str, "item": str})), keys)
    of_item = drawn[drawn["item"] != ""]
    width = 3 * np.sqrt(of_item["centre"] * (1 - of_item["centre"]) / of_item["n"])
    np.testing.assert_allclose(of_item["upper"], (of_item["centre"] + width).clip(upper=1))


def test_all_rows_and_strata_are_those_of_another_engine(found: Audit, select: Any) -> None:
    for measure, hit in HITS.items():
        theirs = select(
            f"""select '{measure}' measure, count(distinct run) runs, count(*) n,
                count_if({hit}) count,
                sum(case when {hit} and review <> 'agreed' then 1 - p else 0 end) errors,
                sum(case when not ({hit}) and review <> 'agreed' then 1 - p else 0 end) passed_over
            from ROWS where {AMONG[measure]}"""
        )
        same(found.totals.query("measure == @measure"), theirs, ["measure"])
        strata = select(
            f"""select case when p < 0.5 then 0 when p < 0.7 then 0.5 when p < 0.9 then 0.7
                    when p < 0.97 then 0.9 else 0.97 end::double p_from,
                count(distinct run) runs, count(*) n, count_if({hit}) count
            from ROWS where {AMONG[measure]} group by all"""
        )
        same(found.strata.query("measure == @measure"), strata, ["p_from"])


def test_pairs_are_those_of_another_engine(found: Audit, select: Any) -> None:
    theirs = select(
        f"""with wrong as (select distinct run, sheet, item::int item from ROWS where {WRONG})
        select a.sheet, a.item as "first", b.item as "second", count(*) as "both"
        from wrong a join wrong b on a.run = b.run and a.item < b.item group by all"""
    )
    same(found.pairs.query("both > 0"), theirs, ["sheet", "first", "second"])


def test_drifts_are_of_the_values_that_another_engine_has(table: Path, found: Audit) -> None:
    """The count, and the median slope over all pairs of the values of the item that sinks."""
    [(slope, count)] = duckdb.sql(
        f"""with spoken as (
            select epoch_ms(start) / 86400000.0 / 365.25 as moment, value
            from read_parquet('{table}/*/*.parquet', hive_partitioning=true)
            where reviewed and sheet = 'heron' and item = '17' and value is not null
                and start is not null)
        select median((b.value - a.value) / (b.moment - a.moment)),
            (select count(*) from spoken)
        from spoken a join spoken b on a.moment < b.moment"""
    ).fetchall()
    [row] = found.drifts.query("sheet == 'heron' and item == '17'").to_dict("records")
    assert row["n"] == count
    # Ours is of 300 groups of neighbours.
    assert row["slope"] == pytest.approx(slope, rel=0.03)
    assert row["low"] < slope < row["high"]


def test_what_was_planted_is_what_stands_out(found: Audit) -> None:
    text = "\n".join(line.text for line in outstanding(found))
    for planted in ("heron, item 12", "heron, items 40 and 41", "heron, item 17 falls by 6"):
        assert planted in text
    high = found.rates.query("measure == 'skipped' and is_high").sort_values("low")
    # At a false discovery rate of 5 % another one may come along, by chance.
    assert high["item"].iloc[-1] == "12" and len(high) <= 2


def test_a_crew_that_answers_too_fast_stands_out(rows: pd.DataFrame) -> None:
    fast = rates(rows, "crew").query("measure == 'too_fast' and is_high")
    assert list(fast["crew"]) == ["C-07"]


def test_no_small_number_is_in_any_table(table: Path) -> None:
    """Of the unreviewed tenth, a hundred runs, in which most counts are small."""
    question = Question(sheet="plover", by="crew", unreviewed=True)
    result = audit(read_rows([table], question), question)
    hidden = 0
    for name, frame in result.tables.items():
        for column in frame.columns.intersection(["count", "runs", "both"]):
            shown = frame[column].dropna()
            least = shown[(shown > 0) & (shown < question.min_cell)]
            # A point of a chart in whose period nothing was run has no run to tell of.
            assert least.empty, (name, column)
        hidden += int((frame.get("hidden", pd.Series(dtype=str)) != "").sum())
    assert hidden > 20
