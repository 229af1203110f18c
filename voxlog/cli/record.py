"""`voxlog record` and `voxlog resume`: a run logged while it goes, and one that was broken off."""

import signal
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from voxlog.cli.debrief import leave_debrief
from voxlog.cli.options import (
    MODEL,
    OPEN_FINDINGS,
    CrewOption,
    MapOption,
    ModelOption,
    SheetOption,
    SiteOption,
    StrictOption,
    SubjectOption,
    cache_folder,
    channels_in,
    default_out,
    parse_people,
    positions_of,
    read_site_file,
)
from voxlog.cli.progress import progress_bar
from voxlog.errors import InputError

if TYPE_CHECKING:
    from voxlog.capture.source import Source
    from voxlog.live.ending import LiveResult
    from voxlog.live.listener import Listener
    from voxlog.live.record import Sound

__all__ = ["record", "resume"]

FromOption = Annotated[
    Path | None,
    typer.Option(
        "--from", metavar="AUDIO", help="Play this recording instead of listening to a device."
    ),
]
SpeedOption = Annotated[
    float,
    typer.Option(metavar="N", min=0, help="With --from: times real time; 0 is as fast as it goes."),
]
SpeakOption = Annotated[
    str | None,
    typer.Option(
        metavar="OUTPUT", help="Speak advice and answers there: number or part of its name."
    ),
]
PlainOption = Annotated[
    bool, typer.Option("--plain", help="One line a change, for screen readers and logs.")
]


def record(
    sheet: SheetOption,
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
    map_: MapOption = None,
    site: SiteOption = None,
    from_: FromOption = None,
    speed: SpeedOption = 1.0,
    speak: SpeakOption = None,
    model: ModelOption = None,
    subject: SubjectOption = None,
    crew: CrewOption = None,
    *,
    plain: PlainOption = False,
    strict: StrictOption = False,
) -> None:
    """Record a run and log it while it goes; Ctrl-C ends it.

    It advises and never stops anything. Nothing is spoken unless --speak names an output.
    """
    known = read_site_file(site)
    if known is not None:
        device, speak, model = device or known.device, speak or known.speak, model or known.model
    sound = _sound(speak) if speak is not None else None
    with progress_bar():
        from voxlog.live.record import record_run

        listener = _load(sheet, model or MODEL)
    run_sheet = listener.sheet
    source = _rehearsal(from_, speed) if from_ else _device(device, channels_in(map_, known))
    positions = positions_of(map_, known, run_sheet.positions, source.channels)
    people = parse_people(subject, crew, run_sheet.positions)
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
            people=people,
            sound=sound,
            patient=from_ is not None and speed != 1,
        )
    _print(place, result, strict=strict)


def resume(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Run folder of a broken-off run.")],
    *,
    record: Annotated[
        bool, typer.Option("--record", help="Go on recording instead of finishing the run.")
    ] = False,
    device: Annotated[
        str | None,
        typer.Option(metavar="DEVICE", help="With --record: another input than the one of before."),
    ] = None,
    from_: FromOption = None,
    speed: SpeedOption = 1.0,
    speak: SpeakOption = None,
    plain: PlainOption = False,
    strict: StrictOption = False,
) -> None:
    """Take up a run that was broken off.

    It is finished from its audio, or with --record gone on with. What its log has stays in it.
    """
    if record:
        result = _go_on(folder, device, from_, speed, speak, plain=plain)
    else:
        given = {"--device": device, "--from": from_, "--speak": speak}
        if unused := [name for name, value in given.items() if value is not None]:
            raise InputError(f"{unused[0]}: the run is only finished; add --record")
        with progress_bar() as progress:
            from voxlog.live.resume import finish_run

            result = finish_run(folder, _load, progress)
    _print(folder, result, strict=strict)


def _go_on(
    folder: Path,
    device: str | None,
    from_: Path | None,
    speed: float,
    speak: str | None,
    *,
    plain: bool,
) -> "LiveResult":
    """The audio first: the model is loaded while it comes in."""
    from voxlog.display.choose import open_display
    from voxlog.live.resume import find_broken_off, take_up

    broken = find_broken_off(folder)
    with _stop_on_signal() as stop:
        if from_:
            source = _rehearsal(from_, speed, broken.due(time.time_ns()))
        else:
            source = _device(device or broken.begun.source, len(broken.audio.paths))
        patient = from_ is not None and speed != 1
        with progress_bar() as progress:
            taken_up = take_up(broken, source, _load, progress, patient=patient)
        sound = _sound(speak) if speak is not None else None
        return taken_up.run(open_display(plain=plain), stop, sound)


def _load(sheet: Path, model: str) -> "Listener":
    from voxlog.live.listener import Listener

    return Listener.load(sheet, model, cache_folder())


def _device(wanted: str | None, channels: int) -> "Source":
    """The first channels of a device."""
    from voxlog.capture.device import DeviceSource

    return DeviceSource(wanted, channels)


def _rehearsal(audio: Path, speed: float, skip: int = 0) -> "Source":
    from voxlog.audio.recording import open_recording
    from voxlog.capture.rehearsal import Rehearsal

    return Rehearsal(open_recording([audio]), speed, skip=skip)


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
    from voxlog.live.ending import difference_in_words
    from voxlog.log.finding import findings_of

    console = Console(highlight=False)
    print_events(console, folder, result.sheet, result.events)
    console.print(difference_in_words(result.difference), soft_wrap=True)
    leave_debrief(folder)
    if strict and any(findings_of(event) for event in result.events):
        raise typer.Exit(OPEN_FINDINGS)
