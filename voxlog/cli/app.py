"""The `voxlog` program: its commands, and what becomes of every way in which one can end.

Exit codes: 0 done; 1 `verify` found the folder changed; 2 bad input or usage, with one line on
stderr; 3 `log --strict` with findings to look at; 130 stopped by Ctrl-C or a request to end.
"""

import os
import signal
import sys
from collections.abc import Sequence
from types import FrameType
from typing import Annotated

import typer

from voxlog import __version__
from voxlog.cli import (
    archive,
    audit,
    debrief,
    demo,
    devices,
    export,
    exposures,
    learn,
    log,
    profile,
    record,
    review,
    score,
    sheet,
    sign,
    verify,
)
from voxlog.errors import InputError

__all__ = ["STOPPED", "app", "main", "voxlog"]

STOPPED = 130
BAD_INPUT = 2
NOT_KEPT = "stopped; a log that was not finished is not kept"

app = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command("log")(log.log)
app.command("record")(record.record)
app.command("resume")(record.resume)
app.command("devices")(devices.devices)
app.command("debrief")(debrief.debrief)
app.command("review")(review.review)
app.command("sign")(sign.sign)
app.command("key")(sign.key)
app.command("learn")(learn.learn)
app.command("verify")(verify.verify)
app.command("score")(score.score)
app.command("profile")(profile.profile)
app.command("exposures")(exposures.exposures)
app.command("export")(export.export)
app.command("archive")(archive.archive)
app.command("audit")(audit.audit)
app.command("demo")(demo.demo)
app.add_typer(sheet.app, name="sheet")


@app.callback(invoke_without_command=True)
def voxlog(
    context: typer.Context,
    *,
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    """Turn the recording of a chamber run into a timestamped log, checked against its run sheet.

    A record aid, not a medical device and not an alarm: the crew's own procedures, local codes and
    licensed practice come first.
    """
    if version:
        typer.echo(f"voxlog {__version__}")
    elif context.invoked_subcommand is None:
        typer.echo(context.get_help())


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; its exit code. arguments: those of the process unless given."""
    requests = _stop_requests() if arguments is None else []
    try:
        status = app(arguments, prog_name="voxlog", standalone_mode=False)
    except Exception as error:
        # A stop that falls into the import of an extension comes out as that import's own error.
        if requests:
            return _complain(NOT_KEPT, STOPPED)
        text = _explain(error)
        if text is None:
            raise
        return _complain(text)
    return _complain(NOT_KEPT, STOPPED) if status == STOPPED else status or 0


def _stop_requests() -> list[int]:
    """From now on both ways to ask the process to end stop the command; they are listed here."""
    requests: list[int] = []

    def stop(number: int, _: FrameType | None) -> None:
        requests.append(number)
        raise KeyboardInterrupt

    for number in (signal.SIGINT, signal.SIGTERM):
        if signal.getsignal(number) != signal.SIG_IGN:
            signal.signal(number, stop)
    return requests


def _explain(error: Exception) -> str | None:
    """One line for what the user can mend; None for a bug."""
    if isinstance(error, InputError):
        return str(error)
    if isinstance(error, typer.TyperException):
        return _usage_text(error)
    if isinstance(error, OSError):
        where = f"{error.filename}: " if error.filename else ""
        return f"{where}{error.strerror or error}; check the disk and its permissions"
    return None


def _usage_text(error: typer.TyperException) -> str:
    context = getattr(error, "ctx", None)
    command = context.command_path if context else "voxlog"
    text = " ".join(error.format_message().split()).rstrip(".")
    return f"{text[:1].lower()}{text[1:]}; see {command} --help"


def _complain(text: str, status: int = BAD_INPUT) -> int:
    """One line on stderr, whatever line breaks a file's name may hold."""
    line = " ".join(text.splitlines())
    sys.stdout.flush()
    sys.stderr.write(f"voxlog: {line}{os.linesep}")
    return status
