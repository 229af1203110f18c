"""`voxlog score`: a log against the known truth of the same recording."""

import json as json_text
from pathlib import Path
from typing import Annotated

import typer

from voxlog.errors import InputError

__all__ = ["print_score", "score"]

COLLAR_S = 1.0  # as voxlog.score, which is not imported here: it is not needed for --help


def score(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The run folder.")],
    truth: Annotated[
        Path,
        typer.Option(metavar="FILE", help="What really happened, with the columns of events.csv."),
    ],
    collar: Annotated[
        float,
        typer.Option(
            metavar="SECONDS", min=0, help="How far apart two rows may start and be the same."
        ),
    ] = COLLAR_S,
    *,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object instead of tables.")
    ] = False,
) -> None:
    """Compare a log with the known truth.

    Findings, item status, values and times. Items are matched by their order, at any distance,
    other rows within the collar.
    """
    print_score(folder, truth, collar, as_json=json)


def print_score(
    folder: Path, truth: Path, collar: float = COLLAR_S, *, as_json: bool = False
) -> None:
    """The figures on stdout; InputError if either side cannot be read."""
    from voxlog.log.table import read_table
    from voxlog.log.verify import read_events
    from voxlog.score.score import score as compare

    events = read_events(folder)
    scores = compare(
        events, read_table(truth), collar_s=collar, duration_s=_recorded_seconds(folder)
    )
    if as_json:
        typer.echo(json_text.dumps(scores.as_dict()))
    else:
        from rich.console import Console

        from voxlog.report.score_table import print_scores

        print_scores(Console(highlight=False), scores)


def _recorded_seconds(folder: Path) -> float:
    """Length of the recording, for false findings an hour."""
    try:
        run = json_text.loads((folder / "run.json").read_bytes())
        return max(float(file["samples"] / file["rate_hz"]) for file in run["audio"])
    except (OSError, ValueError, KeyError, TypeError, ZeroDivisionError) as error:
        raise InputError(
            f"{folder / 'run.json'}: not as voxlog writes it; run voxlog verify {folder}"
        ) from error
