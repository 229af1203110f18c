"""`voxlog verify`: is a run folder as it was written, reviewed and signed?"""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from voxlog.review.verify import Checked

__all__ = ["CHANGED", "verify"]

CHANGED = 1


def verify(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The run folder.")],
    trust: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Known keys, a line each as voxlog key prints it; a signature with another key "
            "is a change then.",
        ),
    ] = None,
) -> None:
    """Prove that a run folder is unchanged: log, audio, sheet, review and signatures.

    Exit 0 if it is, and print its seals; exit 1 if not, with the first bad line first. Keep the
    seals elsewhere: a log or a review written anew from its first line has others.
    """
    from voxlog.review.key import read_known_keys
    from voxlog.review.verify import check_folder

    checked = check_folder(folder, None if trust is None else read_known_keys(trust))
    for problem in checked.problems:
        typer.echo(f"{folder}: {problem}")
    if checked.is_whole:
        typer.echo(f"{folder}: whole, {checked.log.event_count} rows\nseal {checked.log.seal}")
        _print_review(checked)
    for notice in checked.notices:
        typer.echo(notice)
    if not checked.is_whole:
        raise typer.Exit(CHANGED)
    for name in checked.log.unchecked:
        typer.echo(f"not checked, because it is not there: {name}")


def _print_review(checked: "Checked") -> None:
    review = checked.review
    if not review.sections:
        return
    typer.echo(f"review: {len(review.decisions)} decisions\nreview seal {checked.review_seal}")
    for line in checked.signed:
        typer.echo(line)
    if review.signatures and not review.is_signed:
        last = review.sections[-1]
        typer.echo(f"section {last.number}, {len(last.decisions)} decisions, is not signed yet")
