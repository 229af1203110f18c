"""What a display shows of a run that goes on: plain data, no more than can be read at a glance.

Times are seconds. Ages count from the moment of the state, run time from the start of the
recording. Pure.
"""

from dataclasses import dataclass

__all__ = [
    "ChannelState",
    "DueItem",
    "LastCue",
    "LastValue",
    "LevelTime",
    "OpenItem",
    "Row",
    "RunState",
]


@dataclass(frozen=True, slots=True)
class DueItem:
    """The item now due: its number as text, the words of its challenge, who answers it.

    asked_s: seconds since it was asked; None while it was not. phase: title of its phase.
    """

    number: str
    words: str
    position: str
    phase: str = ""
    asked_s: float | None = None


@dataclass(frozen=True, slots=True)
class OpenItem:
    """A mandatory item behind the one due that is not closed; reason: "skipped", "negative" …"""

    number: str
    words: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class LastCue:
    """The last cue heard and how long ago its go word was."""

    name: str
    age_s: float


@dataclass(frozen=True, slots=True)
class LastValue:
    """The last altitude (depth, level) called, its unit, and how long ago it was."""

    value: float
    unit: str
    age_s: float


@dataclass(frozen=True, slots=True)
class LevelTime:
    """Seconds at the level reached; limit_s: the sheet's limit, None if it has none."""

    seconds: float
    limit_s: float | None = None


@dataclass(frozen=True, slots=True)
class ChannelState:
    """A channel being recorded.

    level_dbfs: over the last second, 0 is full scale; -inf for digital silence, None while the
    channel gives nothing at all. warning: plain words ("silent", "clipping"), "" for none.
    """

    position: str
    level_dbfs: float | None = None
    warning: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the log as shown: its number, when (seconds of run time), what happened.

    change: "new", "corrected" or "withdrawn".
    """

    number: int
    t: float
    text: str
    change: str = "new"


@dataclass(frozen=True, slots=True)
class RunState:
    """Everything a display shows.

    recording: False when no audio is being kept on disk (a fault says why).
    gate: the message of a gate that is open ("open: item 14, visor"), "" for none.
    answer: the last answer to a question asked by voice, "" for none.
    behind_s: seconds of audio that the recogniser has not heard yet.
    rows: the newest rows, oldest first. findings: how many rows want a person's look so far.
    """

    title: str = ""
    run_s: float = 0.0
    due: DueItem | None = None
    open: tuple[OpenItem, ...] = ()
    last_cue: LastCue | None = None
    last_altitude: LastValue | None = None
    at_level: LevelTime | None = None
    channels: tuple[ChannelState, ...] = ()
    recording: bool = True
    fault: str = ""
    gate: str = ""
    answer: str = ""
    rows: tuple[Row, ...] = ()
    behind_s: float = 0.0
    findings: int = 0
