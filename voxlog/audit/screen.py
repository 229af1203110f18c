"""An audit on the terminal: what was counted, the rates of all rows, and what stands out."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from voxlog.audit.audit import Audit
from voxlog.audit.outstanding import outstanding
from voxlog.audit.tables import totals_table
from voxlog.audit.wording import format_count

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["print_audit"]


def print_audit(console: "Console", audit: Audit, written: Sequence[Path]) -> None:
    """written: files and folders that were made."""
    from rich.text import Text

    for text, style in _heading(audit):
        console.print(Text(text, style=style), soft_wrap=True)
    if audit.scope.is_too_small:
        least = audit.scope.question.min_cell
        text = f"Fewer than {least} runs: no figure is shown. See --min-cell."
        console.print(Text(text), soft_wrap=True)
    else:
        _print_results(console, audit)
    for path in written:
        console.print(Text(f"Written: {path}"), soft_wrap=True)
    if not written:
        console.print(Text("More on the page: --out page.html", style="dim"))


def _print_results(console: "Console", audit: Audit) -> None:
    from rich.text import Text

    console.print(_totals(audit))
    lines = outstanding(audit)
    console.print(Text("What stands out" if lines else "Nothing stands out.", style="bold"))
    for line in lines:
        console.print(Text(f"- {line.text}"), soft_wrap=True)


def _heading(audit: Audit) -> list[tuple[str, str]]:
    scope = audit.scope
    span = f", {scope.first} to {scope.last}" if scope.first else ""
    rows = f"{format_count(scope.runs)} runs{span}, {format_count(scope.rows)} rows of items"
    if not scope.not_reviewed:
        return [(rows, "bold")]
    count = format_count(scope.not_reviewed)
    if scope.question.unreviewed:
        warning = f"NOT FACTS: {count} of these runs were reviewed by nobody (--unreviewed)"
        return [(rows, "bold"), (warning, "bold red")]
    return [(rows, "bold"), (f"{count} runs left out: not reviewed", "")]


def _totals(audit: Audit) -> object:
    from rich import box
    from rich.table import Table

    source = totals_table(audit)
    table = Table(box=box.SIMPLE_HEAD)
    for header in source.headers:
        table.add_column(
            header.removesuffix("#"), justify="right" if header.endswith("#") else "left"
        )
    for row in source.rows:
        table.add_row(*row)
    return table
