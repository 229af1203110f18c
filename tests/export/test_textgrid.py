"""TextGrid read back by Praat itself, as the library parselmouth."""

from pathlib import Path

import pandas as pd
import parselmouth
import pytest
from parselmouth.praat import call

from tests.export.rows import hard_run, long_run, random_run, run_of, to_ms
from voxlog.export.run import ExportRun, Row
from voxlog.export.text import label
from voxlog.export.textgrid import to_textgrid
from voxlog.follow.event import Event

Found = list[tuple[int, int, str]]


def by_praat(run: ExportRun, folder: Path) -> dict[str, Found]:
    """Start, end and text by tier; intervals without text are left out."""
    path = folder / "run.TextGrid"
    path.write_bytes(to_textgrid(run).data)
    grid = parselmouth.read(str(path))
    with_numbers, decimals, with_tiers, with_empty = False, 6, True, False
    table = call(grid, "Down to Table", with_numbers, decimals, with_tiers, with_empty)
    saved = folder / "table.tsv"
    call(table, "Save as tab-separated file", str(saved))
    encoding = "utf-16" if saved.read_bytes().startswith(b"\xfe\xff") else "utf-8"
    rows = pd.read_csv(saved, sep="\t", quoting=3, keep_default_na=False, encoding=encoding)
    tiers: dict[str, Found] = {}
    for start, tier, text, end in rows.itertuples(index=False):
        tiers.setdefault(tier, []).append((to_ms(start), to_ms(end), text))
    return tiers


def rows_of(tiers: dict[str, Found]) -> Found:
    return sorted(each for name, found in tiers.items() if name != "review" for each in found)


def expected(run: ExportRun) -> Found:
    return sorted((row.start_ms, row.end_ms, label(row)) for row in run.rows)


def test_any_text_comes_back(tmp_path: Path) -> None:
    run = random_run()
    assert rows_of(by_praat(run, tmp_path)) == expected(run)


def test_praat_reads_every_row(tmp_path: Path) -> None:
    run = hard_run()
    tiers = by_praat(run, tmp_path)
    assert rows_of(tiers) == expected(run)
    for name, found in tiers.items():
        kinds = {text.split()[1].rstrip(":") for *_, text in found}
        assert name == "review" or kinds == {name.split(",")[0].split()[0]}


def test_the_review_is_said_over_the_whole_length(tmp_path: Path) -> None:
    run = hard_run()
    last = max(row.end_ms for row in run.rows)
    assert by_praat(run, tmp_path)["review"] == [(0, last, "not reviewed")]


def test_rows_that_overlap_lie_in_tiers_of_their_own(tmp_path: Path) -> None:
    spans = ((0, 2000), (1000, 3000), (2000, 4000), (2500, 2600), (5, 5), (5, 5))
    rows = [Row(n, start, end, Event(0, 0, "item")) for n, (start, end) in enumerate(spans, 1)]
    tiers = by_praat(run_of(rows), tmp_path)
    assert {name: [text for *_, text in found] for name, found in tiers.items()} == {
        "item": ["#1 item", "#3 item"],
        "item 2": ["#2 item"],
        "item 3": ["#4 item"],
        "item, no length": ["#5 item"],
        "item, no length 2": ["#6 item"],
        "review": ["not reviewed"],
    }


def test_times_before_the_recorder_began_are_kept(tmp_path: Path) -> None:
    run = run_of([Row(1, -2500, -1000, Event(0, 0, "hold")), Row(2, 10, 20, Event(0, 0, "hold"))])
    assert rows_of(by_praat(run, tmp_path)) == [(-2500, -1000, "#1 hold"), (10, 20, "#2 hold")]


def test_an_empty_log_is_a_grid_too(tmp_path: Path) -> None:
    assert by_praat(run_of([]), tmp_path) == {"review": [(0, 1, "not reviewed")]}


@pytest.mark.slow
def test_a_long_log_is_exact(tmp_path: Path) -> None:
    run = long_run()
    assert rows_of(by_praat(run, tmp_path)) == expected(run)
