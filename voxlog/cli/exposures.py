"""`voxlog exposures`: who was exposed to what, over many runs, against the site's rules."""

import json as json_text
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from voxlog.errors import InputError

if TYPE_CHECKING:
    from voxlog.exposures.read import Found

__all__ = ["exposures"]


def exposures(
    runs: Annotated[
        list[Path],
        typer.Argument(metavar="RUNS", help="Run folders, or folders with runs in them."),
    ],
    site: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Site file with the local `rules`.")
    ] = None,
    *,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print a table, one row an exposure.")] = False,
) -> None:
    """Tell who was exposed to what, how long and how often.

    By the codes of --subject and --crew; with a site file also what breaks its rules.
    """
    from voxlog.exposures.read import read_exposures
    from voxlog.exposures.rules import record_of
    from voxlog.sheet.load import load_site

    if json and csv:
        raise InputError("--json and --csv: only one of them fits on one output; leave one out")
    rules = load_site(site).rules if site else ()
    found = read_exposures(runs)
    _say_what_is_missing(found)
    people = record_of(found.exposures, rules)
    from voxlog.report.exposure_table import exposures_csv, exposures_json, print_exposures

    if json:
        typer.echo(json_text.dumps(exposures_json(people, rules), ensure_ascii=False))
    elif csv:
        typer.echo(exposures_csv(people), nl=False)
    else:
        from rich.console import Console

        print_exposures(Console(highlight=False), people, rules)


def _say_what_is_missing(found: "Found") -> None:
    """On stderr, one line each: a record that lacks runs must say so."""
    for names, what in (
        (found.without_codes, "without codes, so they are nobody's; log with --subject and --crew"),
        (
            found.without_levels,
            "without a change of level in the log; look whether calls were heard",
        ),
    ):
        if names:
            more = f" and {len(names) - 3} more" if len(names) > 3 else ""
            listed = ", ".join(names[:3])
            typer.echo(
                f"voxlog: {len(names)} of {found.runs} runs {what}: {listed}{more}", err=True
            )
