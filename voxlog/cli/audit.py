"""`voxlog audit`: what many runs have in common."""

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from voxlog.errors import InputError

if TYPE_CHECKING:
    from voxlog.audit.audit import Audit

__all__ = ["audit"]

# As in voxlog.audit, which is not imported here: it is not needed for --help.
FLOOR_S = 0.3
MIN_CELL = 5


def audit(
    runs: Annotated[
        list[Path],
        typer.Argument(
            metavar="RUNS...", help="Run folders, folder trees of them, or tables of runs."
        ),
    ],
    since: Annotated[
        str, typer.Option(metavar="DATE", help="Runs that began on that day (UTC) or later.")
    ] = "",
    sheet: Annotated[str, typer.Option(metavar="ID", help="Runs of this run sheet only.")] = "",
    by: Annotated[
        Literal["item", "position", "crew", "month"],
        typer.Option(help="What the rates are of."),
    ] = "item",
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the page, one HTML file.")
    ] = None,
    csv: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Write the tables as CSV files.")
    ] = None,
    floor: Annotated[
        float,
        typer.Option(metavar="SECONDS", min=0, help="An answer sooner than that is too fast."),
    ] = FLOOR_S,
    min_cell: Annotated[
        int,
        typer.Option(
            "--min-cell", metavar="N", min=1, help="Hide counts and groups under N; 1 shows all."
        ),
    ] = MIN_CELL,
    *,
    unreviewed: Annotated[
        bool, typer.Option("--unreviewed", help="Count runs that nobody has reviewed as well.")
    ] = False,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object instead of text.")
    ] = False,
) -> None:
    """Count over many runs what is skipped, out of order, unconfirmed or answered too fast.

    With intervals, delays, control charts, pairs of items that go wrong together, drifting values
    and how much of it may be the recogniser. Only reviewed runs count unless you ask otherwise.
    """
    _needed()
    from voxlog.audit.audit import audit as audited
    from voxlog.audit.question import Question
    from voxlog.audit.read import read_rows

    question = Question(
        since=_day(since),
        sheet=sheet or None,
        unreviewed=unreviewed,
        by=by,
        floor_s=floor,
        min_cell=min_cell,
    )
    result = audited(read_rows(runs, question), question)
    written = [*_page(result, out), *_tables(result, csv)]
    if json:
        from voxlog.audit.csv_files import audit_json

        typer.echo(audit_json(result))
        return
    from rich.console import Console

    from voxlog.audit.screen import print_audit

    print_audit(Console(highlight=False), result, written)


def _page(result: "Audit", out: Path | None) -> list[Path]:
    if out is None:
        return []
    from voxlog.audit.page import render_page
    from voxlog.log.disk import replace_through
    from voxlog.log.folder import disk_errors

    text = render_page(result)
    with disk_errors(out):
        out.parent.mkdir(parents=True, exist_ok=True)
        replace_through(out, text.encode())
    return [out]


def _tables(result: "Audit", folder: Path | None) -> list[Path]:
    if folder is None:
        return []
    from voxlog.audit.csv_files import write_csv

    write_csv(folder, result)
    return [folder]


def _day(text: str) -> datetime | None:
    if not text:
        return None
    try:
        return datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError:
        raise InputError(f"--since {text}: not a date; write it as 2026-11-25") from None


def _needed() -> None:
    from importlib.util import find_spec

    missing = [
        name
        for name in ("pandas", "pyarrow", "scipy", "matplotlib", "jinja2")
        if find_spec(name) is None
    ]
    if missing:
        raise InputError(f"an audit needs {', '.join(missing)}; pip install '.[audit]'")
