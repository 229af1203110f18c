"""`voxlog key` and `voxlog sign`: a key of one's own, and a name put to a run."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from voxlog.errors import InputError

__all__ = ["key", "sign"]

_Code = Annotated[
    str, typer.Option("--as", metavar="CODE", help="Your code, as in C-12; never a name.")
]


def key(
    file: Annotated[Path, typer.Argument(metavar="NEW-FILE", help="Where the key is to be.")],
    code: _Code,
    *,
    passphrase: Annotated[
        bool, typer.Option("--passphrase", help="Ask for a passphrase, and ask again at signing.")
    ] = False,
) -> None:
    """Make a key to sign with.

    The private key in NEW-FILE is yours alone. The line in NEW-FILE.pub goes to whoever keeps the
    file of known keys, by a way that leaves no doubt whose it is.
    """
    from voxlog.review.key import fingerprint, make_key

    secret = _ask_passphrase(is_new=True) if passphrase else ""
    line = make_key(file, code, secret)
    typer.echo(f"{line}\nfingerprint {fingerprint(line.split()[1])}")


def sign(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The run folder.")],
    code: _Code,
    key_file: Annotated[
        Path, typer.Option("--key", metavar="FILE", help="Your private key, made by voxlog key.")
    ],
    meaning: Annotated[
        str,
        typer.Option(
            metavar="WORD", help="What it stands for: review, approval, responsibility, authorship."
        ),
    ] = "review",
) -> None:
    """Sign a run: log, review, audio and sheet as they are now.

    A second code countersigns. Decisions made later start a new section, to be signed again.
    """
    from voxlog.review.key import fingerprint
    from voxlog.review.sign import sign as put_name_to
    from voxlog.review.signature import MEANINGS

    for known in MEANINGS:
        if meaning == known:
            break
    else:
        raise InputError(f"--meaning {meaning}: unknown; use one of {', '.join(MEANINGS)}")
    said = put_name_to(folder, code, key_file, _ask_passphrase, known).statement
    typer.echo(
        f"{folder}: section {said.section} signed by {code} ({said.meaning}), "
        f"key {fingerprint(said.key)}"
    )
    if said.undecided:
        typer.echo(
            f"{said.undecided} of {said.to_decide} rows to decide are undecided; the signature "
            "says so"
        )


def _ask_passphrase(*, is_new: bool = False) -> str:
    """InputError where nobody can be asked, or nobody answers."""
    if not sys.stdin.isatty():
        raise InputError("a passphrase is needed, and there is no terminal to ask for it; use one")
    try:
        answer = typer.prompt("Passphrase", hide_input=True, confirmation_prompt=is_new, err=True)
    except typer.Abort as error:
        raise InputError("no passphrase was given and nothing was done; try again") from error
    return str(answer)
