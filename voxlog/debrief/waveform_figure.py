"""The waveform of each channel on the axis of time of the other figures."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from voxlog.debrief.axis import Tick, placed_times
from voxlog.debrief.findings import Finding
from voxlog.debrief.profile_figure import LEFT, RIGHT, Mark, clock_scale
from voxlog.debrief.run import Channel, Run
from voxlog.debrief.sound import BUCKETS, Loudness, Sound
from voxlog.debrief.wording import position_title

__all__ = ["Strip", "Waveforms", "waveforms"]

_STRIP = 46
_TOP = 22
_HALF = 18


@dataclass(frozen=True, slots=True)
class Strip:
    """A channel. y: of its zero line. path: of its outline, "" where its sound is not here.

    full_scale: share of full scale at the top of the strip. peak, rms: as dBFS in words.
    utterances, speech_s: how many stretches of speech were heard, and how long in all.
    """

    channel: Channel
    name: str
    y: float
    path: str
    full_scale: str
    peak: str
    rms: str
    utterances: int
    speech_s: float


@dataclass(frozen=True, slots=True)
class Waveforms:
    """All strips, one below the other, with the findings above them."""

    height: float
    bottom: float
    times: tuple[Tick, ...]
    strips: tuple[Strip, ...]
    findings: tuple[Mark, ...]


def waveforms(run: Run, sound: Sound, findings: Sequence[Finding]) -> Waveforms:
    """The figure; each strip is scaled to its own loudest sample."""
    along = clock_scale(run)
    bottom = _TOP + _STRIP * len(run.channels)
    return Waveforms(
        height=bottom + 36,
        bottom=bottom,
        times=placed_times(along),
        strips=tuple(
            _strip(run, channel, sound.channels.get(channel.number), _TOP + _STRIP * (n + 0.5))
            for n, channel in enumerate(run.channels)
        ),
        findings=tuple(
            Mark(along(one.event.start), 14, one.weight, f"{one.clock}  finding {one.number}")
            for one in findings
        ),
    )


def _strip(run: Run, channel: Channel, loud: Loudness | None, y: float) -> Strip:
    said = [one for one in run.said if one.channel == channel.number]
    position = position_title(run.sheet, channel.position)
    return Strip(
        channel=channel,
        name=position or "anybody",
        y=y,
        path="" if loud is None else _outline(loud, y),
        full_scale="" if loud is None else f"{loud.peak:.2f}",
        peak="not here" if loud is None else _decibels(loud.peak),
        rms="not here" if loud is None else _decibels(loud.rms),
        utterances=len(said),
        speech_s=sum(one.end - one.start for one in said),
    )


def _outline(loud: Loudness, y: float) -> str:
    """Along the highest samples and back along the lowest; relative moves keep it short."""
    step = (RIGHT - LEFT) / BUCKETS
    scale = _HALF / max(loud.peak, 1e-6)
    over = [(LEFT + (n + 0.5) * step, y - float(v) * scale) for n, v in enumerate(loud.highest)]
    under = [(LEFT + (n + 0.5) * step, y - float(v) * scale) for n, v in enumerate(loud.lowest)]
    places = [(f"{x:.1f}", f"{up:.1f}") for x, up in (*over, *reversed(under))]
    return "M" + "L".join(f"{x} {up}" for x, up in places) + "Z"


def _decibels(share: float) -> str:
    """Of full scale; a silent channel has none."""
    return f"{20 * math.log10(share):.1f} dBFS" if share > 1e-5 else "silent"
