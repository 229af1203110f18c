"""`voxlog record` and `voxlog resume`: a run logged while it goes, and one that was broken off."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from voxlog.cli.log import MODEL, OPEN_FINDINGS
from voxlog.cli.options import cache_folder, default_out, parse_positions
from voxlog.cli.progress import progress_bar
from voxlog.errors import InputError

if TYPE_CHECKING:
    from voxlog.capture.source import Source
    from voxlog.live.record import LiveResult, Sound

__all__ = ["record", "resume"]


def record(
    sheet: Annotated[Path, typer.Option(metavar="FILE", help="The run sheet.")],
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Run folder to make. Default: runs/<now>-<sheet>."),
    ] = None,
    device: Annotated[
        str | None,
        typer.Option(
            metavar="DEVICE",
            help="Input: number or part of its name, see `voxlog devices`. Default: the system's.",
        ),
    ] = None,
    map_: Annotated[
        str | None,
        typer.Option(
            "--map",
            metavar="MAP",
            help="Who is on which channel, as 1=conductor,2=attendant. Default: one channel.",
        ),
    ] = None,
    from_: Annotated[
        Path | None,
        typer.Option(
            "--from", metavar="AUDIO", help="Play this recording instead of listening to a device."
        ),
    ] = None,
    speed: Annotated[
        float,
        typer.Option(
            metavar="N", min=0, help="With --from: times real time; 0 is as fast as it goes."
        ),
    ] = 1.0,
    speak: Annotated[
        str | None,
        typer.Option(
            metavar="OUTPUT", help="Speak advice and answers there: number or part of its name."
        ),
    ] = None,
    model: Annotated[
        str, typer.Option(metavar="NAME", help="Speech model: tiny.en, base, or a folder.")
    ] = MODEL,
    *,
    plain: Annotated[
        bool, typer.Option("--plain", help="One line a change, for screen readers and logs.")
    ] = False,
    strict: Annotated[
        bool, typer.Option("--strict", help="Exit 3 while there are findings.")
    ] = False,
) -> None:
    """Record a run and log it while it goes; Ctrl-C ends it.

    It advises and never stops anything. Nothing is spoken unless --speak names an output.
    """
    sound = _sound(speak) if speak is not None else None
    with progress_bar() as progress:
        progress(0, None)
        from voxlog.live.record import Listener, record_run

        listener = Listener.load(sheet, model, cache_folder())
    run_sheet = listener.sheet
    source = _rehearsal(from_, speed) if from_ else _device(device, map_)
    positions = parse_positions(map_, run_sheet.positions, source.channels) if map_ else {}
    place = out or default_out(None, run_sheet.id)
    from voxlog.display.choose import open_display

    with _stop_on_signal() as stop:
        result = record_run(
            listener,
            source,
            place,
            open_display(plain=plain),
            stop,
            positions=positions,
            sound=sound,
            patient=from_ is not None and speed != 1,
        )
    _print(place, result, strict=strict)


def resume(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Run folder of a broken-off run.")],
    *,
    strict: Annotated[
        bool, typer.Option("--strict", help="Exit 3 while there are findings.")
    ] = False,
) -> None:
    """Finish a run that was broken off, from its audio.

    What its log has stays in it; what it lacks is added.
    """
    with progress_bar() as progress:
        from voxlog.live.record import Listener, resume_run

        result = resume_run(
            folder, lambda sheet, model: Listener.load(sheet, model, cache_folder()), progress
        )
    _print(folder, result, strict=strict)


def _device(wanted: str | None, map_: str | None) -> "Source":
    """The first channels of a device, as many as the map names; one without a map."""
    from voxlog.capture.device import open_device

    numbers = [part.partition("=")[0].strip() for part in (map_ or "1=").split(",")]
    channels = max((int(number) for number in numbers if number.isdecimal()), default=1)
    return open_device(wanted, channels)


def _rehearsal(audio: Path, speed: float) -> "Source":
    from voxlog.audio.recording import open_recording
    from voxlog.capture.rehearsal import Rehearsal

    return Rehearsal(open_recording([audio]), speed)


def _sound(wanted: str) -> "Sound":
    """An output with a voice, or with a tone only where the words' package is missing."""
    from voxlog.live.record import Sound
    from voxlog.voice.output import DeviceOutput
    from voxlog.voice.speech import load_speech

    output = DeviceOutput(wanted)
    try:
        return Sound(output, load_speech())
    except InputError as error:
        typer.echo(f"voxlog: {error}", err=True)
        return Sound(output, None)


@contextmanager
def _stop_on_signal() -> Iterator[threading.Event]:
    """Set by the first request to end; further ones change nothing, the run is being finished."""
    stop = threading.Event()
    numbers = (signal.SIGINT, signal.SIGTERM)
    before = [signal.signal(number, lambda *_: stop.set()) for number in numbers]
    try:
        yield stop
    finally:
        for number, handler in zip(numbers, before, strict=True):
            signal.signal(number, handler)


def _print(folder: Path, result: "LiveResult", *, strict: bool) -> None:
    from rich.console import Console

    from voxlog.cli.result import print_events
    from voxlog.live.record import difference_in_words
    from voxlog.log.finding import findings_of

    console = Console(highlight=False)
    print_events(console, folder, result.sheet, result.events)
    console.print(difference_in_words(result.difference), soft_wrap=True)
    if strict and any(findings_of(event) for event in result.events):
        raise typer.Exit(OPEN_FINDINGS)
