"""The figures of a comparison with the truth, as tables on the terminal."""

from collections.abc import Mapping

from rich import box
from rich.console import Console
from rich.table import Table

from voxlog.score.score import Scores
from voxlog.score.tally import Ratio, Tally, TimeError

__all__ = ["print_scores"]


def print_scores(console: Console, scores: Scores) -> None:
    """Findings by label and kind, rows by kind, then the single figures. "-" is a ratio of none."""
    console.print(_tally_table("Finding", scores.findings_by_label, scores.findings))
    console.print(_tally_table("Findings of", scores.findings_by_kind, scores.findings))
    console.print(_tally_table("Rows of", scores.rows_by_kind, _sum(scores.rows_by_kind)))
    console.print(_figure_table(scores))


def _sum(tallies: Mapping[str, Tally]) -> Tally:
    return sum(tallies.values(), Tally())


def _tally_table(heading: str, tallies: Mapping[str, Tally], total: Tally) -> Table:
    """Rows without any count are left out."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column(heading, min_width=14)
    for name in ("In truth", "Found", "False", "Precision", "Recall", "F1"):
        table.add_column(name, justify="right", no_wrap=True)
    for label, tally in tallies.items():
        if tally != Tally():
            table.add_row(label, *_tally_cells(tally))
    table.add_section()
    table.add_row("all", *_tally_cells(total), style="bold")
    return table


def _tally_cells(tally: Tally) -> list[str]:
    counts = (tally.hits + tally.missed, tally.hits, tally.false)
    ratios = (tally.precision, tally.recall, tally.f1)
    return [*map(str, counts), *map(_format_share, ratios)]


def _figure_table(scores: Scores) -> Table:
    table = Table(box=None, pad_edge=False, show_header=False)
    for name, figure in (
        ("Item status accuracy", _format_ratio(scores.item_status)),
        ("Recall of planted deviations", _format_share(scores.findings.recall)),
        ("Value accuracy", _format_ratio(scores.values)),
        ("Time error", _format_time(scores.time_error)),
        ("Time error of cues", _format_time(scores.cue_time_error)),
        (
            "False findings",
            _format_rate(scores.findings.false, scores.false_findings_per_hour),
        ),
        (
            "  with uncertain on right rows",
            _format_rate(
                scores.false_findings_with_uncertain,
                scores.false_findings_with_uncertain_per_hour,
            ),
        ),
        ("Collar", f"{scores.collar_s:g} s, items at any distance"),
    ):
        table.add_row(name, figure)
    return table


def _format_share(share: float | None) -> str:
    """Three decimals, cut and not rounded: what is not all right must not print as 1.000."""
    return "-" if share is None else f"{int(share * 1000 + 1e-9) / 1000:.3f}"


def _format_ratio(ratio: Ratio) -> str:
    return f"{_format_share(ratio.share)} ({ratio.right} of {ratio.total})"


def _format_time(error: TimeError) -> str:
    if error.median_s is None or error.p95_s is None:
        return "-"
    return f"median {error.median_s:.3f} s, 95th percentile {error.p95_s:.3f} s ({error.count})"


def _format_rate(count: int, per_hour: float | None) -> str:
    return f"{count}" if per_hour is None else f"{count} ({per_hour:.1f} an hour)"
