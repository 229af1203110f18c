"""RunState -> the words and figures of a display, each with how much it matters. Pure.

Whatever matters carries a mark and a word, never a colour alone.
"""

import math
from typing import Final, Literal, NamedTuple

from voxlog.live.state import ChannelState, LevelTime, OpenItem, RunState
from voxlog.report.words import format_clock, format_value

__all__ = [
    "MARKS",
    "STYLES",
    "Fact",
    "Matter",
    "channel_fact",
    "clean",
    "facts_of",
    "format_age",
    "format_run_time",
    "format_time",
    "open_line",
    "recording_line",
]

Matter = Literal["calm", "watch", "alarm"]
MARKS: Final[dict[Matter, str]] = {"calm": "", "watch": "! ", "alarm": "!! "}
# Reversed, an alarm differs in brightness and without colours too.
STYLES: Final[dict[Matter, str]] = {
    "calm": "",
    "watch": "bold yellow",
    "alarm": "bold red reverse",
}

# From here on the limit of the time at level is near; when it is short, the last minute.
_NEAR_S: Final = 60.0


class Fact(NamedTuple):
    """A figure with what it is, what more there is to say, and how much it matters."""

    label: str
    figure: str
    detail: str = ""
    matter: Matter = "calm"


def clean(text: str) -> str:
    """Without control signs, which could move a terminal's cursor; on one line."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def format_time(seconds: float) -> str:
    """Minutes and seconds, from an hour on with hours: 7:05, 1:02:07; cut to the second.

    Nothing below zero and nothing endless is shown: clocks may be read in the wrong order.
    """
    whole = int(seconds) if math.isfinite(seconds) and seconds > 0 else 0
    minutes, rest = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"


def format_run_time(seconds: float) -> str:
    """As the log's own tables write it: minutes and seconds from the start, 07:05, 125:00."""
    return format_clock(seconds if math.isfinite(seconds) and seconds > 0 else 0.0)


def format_age(seconds: float) -> str:
    """How long ago: "45 s ago", "2:05 ago"."""
    if seconds < 60:
        return f"{max(0, int(seconds))} s ago"
    return f"{format_time(seconds)} ago"


def facts_of(state: RunState) -> tuple[Fact, ...]:
    """Run time, time since the last cue, last altitude, time at level, open items."""
    cue, altitude = state.last_cue, state.last_altitude
    since_cue = (
        Fact(f"since {clean(cue.name)}", format_time(cue.age_s)) if cue else Fact("no cue yet", "-")
    )
    level = (
        Fact(
            f"altitude, {clean(altitude.unit)}" if altitude.unit else "level",
            format_value(altitude.value, ""),
            format_age(altitude.age_s),
        )
        if altitude
        else Fact("no altitude yet", "-")
    )
    waiting: Matter = "watch" if state.open else "calm"
    return (
        Fact("run time", format_run_time(state.run_s)),
        since_cue,
        level,
        _level_fact(state.at_level),
        Fact("open", str(len(state.open)), "", waiting),
    )


def _level_fact(at_level: LevelTime | None) -> Fact:
    if at_level is None:
        return Fact("not at level", "-")
    figure = format_time(at_level.seconds)
    if at_level.limit_s is None:
        return Fact("at level", figure)
    left = at_level.limit_s - at_level.seconds
    if left < 0:
        return Fact("at level", figure, f"OVER BY {format_time(-left)}", "alarm")
    near = left <= min(_NEAR_S, at_level.limit_s / 2)
    return Fact("at level", figure, f"{format_time(left)} left", "watch" if near else "calm")


def channel_fact(channel: ChannelState) -> Fact:
    """A channel's name, its level ("-23 dB"), and "ok" or its warning."""
    level, warning = channel.level_dbfs, clean(channel.warning)
    if level is None:
        return Fact(clean(channel.position), "", warning or "no signal", "alarm")
    figure = f"{round(level)} dB" if math.isfinite(level) else "-inf dB"
    return Fact(clean(channel.position), figure, warning or "ok", "alarm" if warning else "calm")


def recording_line(state: RunState) -> tuple[str, Matter]:
    """Whether audio is kept, and what is wrong: "RECORDING", "NOT RECORDING: disk full"."""
    fault = clean(state.fault)
    if not state.recording:
        return f"NOT RECORDING{f': {fault}' if fault else ''}", "alarm"
    return (f"RECORDING, {fault}", "watch") if fault else ("RECORDING", "calm")


def open_line(item: OpenItem) -> str:
    """An open item in words: "12 oxygen mask (skipped)"."""
    reason = f" ({clean(item.reason)})" if item.reason else ""
    return f"{clean(item.number)} {clean(item.words)}{reason}".strip()
