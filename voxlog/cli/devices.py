"""`voxlog devices`: the inputs that can be recorded, and what comes in on each line of them."""

import threading
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from voxlog.cli.options import SiteOption, read_site_file
from voxlog.errors import InputError

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from voxlog.capture.meter import Level
    from voxlog.capture.portaudio import Device

__all__ = ["devices", "level_bar"]

FIRST_CHANNELS = 8
"""Sound servers offer any number, 32 or 64, whatever is connected."""

BAR_WIDTH = 30
BAR_FROM_DBFS = -60.0


def devices(
    device: Annotated[
        str | None,
        typer.Argument(metavar="[DEVICE]", help="Only this one: its number or part of its name."),
    ] = None,
    listen: Annotated[
        float,
        typer.Option(
            metavar="SECONDS", min=0, help="Listen for so long; show each channel's level."
        ),
    ] = 0,
    channels: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, help="Listen to the first N channels (up to 8 if not)."),
    ] = None,
    site: SiteOption = None,
) -> None:
    """List the audio inputs.

    With --listen also how loud each channel is, so that a patch panel can be checked: speak into
    one line after the other. With --site only that site's device, and who should be on each line.
    """
    from rich.console import Console

    from voxlog.capture.portaudio import choose, list_devices

    console = Console(highlight=False)
    known = read_site_file(site)
    positions = known.channels if known else {}
    if known is not None:
        device = device or known.device
        channels = channels or max(positions, default=None)
    found = list_devices()
    wanted = found if device is None else (choose(found, device),)
    console.print(_device_table(wanted))
    for one in wanted if listen else ():
        try:
            _listen(console, one, min(channels or FIRST_CHANNELS, one.channels), listen, positions)
        except InputError as error:
            if device is not None:
                raise
            console.print(str(error), markup=False)


def level_bar(dbfs: float) -> str:
    """A level as a bar, empty at -60 dBFS and full at 0."""
    share = 1 - dbfs / BAR_FROM_DBFS
    filled = round(min(1.0, max(0.0, share)) * BAR_WIDTH)
    return "#" * filled + "-" * (BAR_WIDTH - filled)


def _device_table(found: Sequence["Device"]) -> "Table":
    from rich.markup import escape
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for heading in ("Number", "Channels", "Rate"):
        table.add_column(heading, justify="right")
    table.add_column("System")
    table.add_column("Name", overflow="fold")
    for one in found:
        numbers = (str(one.number), str(one.channels), str(one.rate))
        table.add_row(*numbers, escape(one.host), escape(one.name))
    return table


def _listen(
    console: "Console",
    device: "Device",
    channels: int,
    seconds: float,
    positions: Mapping[int, str],
) -> None:
    """Shows what comes in; in a terminal while it does, and then the loudest of it.

    positions: who should be on each channel, from 1.
    """
    from rich.live import Live

    from voxlog.capture.device import DeviceSource
    from voxlog.capture.meter import Meter

    source = DeviceSource(str(device.number), channels)
    meter = Meter(channels, source.rate)
    loudest = meter.levels()
    stop = threading.Timer(seconds, source.stop)
    stop.start()
    console.print(f"\n{device.name}, {seconds:g} s, the loudest second:", markup=False)
    try:
        first = _level_table(loudest, positions)
        with Live(first, console=console, refresh_per_second=5, transient=True) as live:
            for block in source.blocks():
                meter.push(block.samples)
                levels = meter.levels()
                loudest = tuple(map(_louder, loudest, levels))
                live.update(_level_table(levels, positions))
    finally:
        stop.cancel()
        source.stop()
    if source.fault:
        raise InputError(f"device {device.name}: gave no audio; check that it is switched on")
    console.print(_level_table(loudest, positions))


def _louder(one: "Level", other: "Level") -> "Level":
    """The loudest of both, and the warning that holds now."""
    from voxlog.capture.meter import Level

    return Level(
        max(one.peak_dbfs, other.peak_dbfs), max(one.rms_dbfs, other.rms_dbfs), other.warning
    )


def _level_table(levels: Sequence["Level"], positions: Mapping[int, str]) -> "Table":
    from rich.table import Table

    from voxlog.capture.meter import NOTHING_DBFS

    table = Table(box=None, pad_edge=False)
    table.add_column("Channel", justify="right")
    if positions:
        table.add_column("Position")
    table.add_column("Level", no_wrap=True, min_width=BAR_WIDTH)
    table.add_column("dBFS", justify="right", min_width=4)
    table.add_column("Peak", justify="right", min_width=4)
    table.add_column("", overflow="fold")
    for number, level in enumerate(levels, 1):
        silent = level.peak_dbfs <= NOTHING_DBFS
        figures = (
            ("none", "none") if silent else (f"{level.rms_dbfs:.0f}", f"{level.peak_dbfs:.0f}")
        )
        who = [positions.get(number, "")] if positions else []
        bar = level_bar(level.rms_dbfs)
        table.add_row(str(number), *who, bar, *figures, level.warning)
    return table
