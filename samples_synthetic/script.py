"""What a script is made of: beats of lines, each with the rows of truth that it stands for.

A script says what is spoken and in which order; `timeline` finds out when, `truth` writes it down.
"""

from dataclasses import dataclass

from voxlog.follow.event import Flag, Kind, Status

__all__ = ["Beat", "Moment", "Row", "Said", "Script"]


@dataclass(frozen=True, slots=True)
class Said:
    """One clip to speak; gap: seconds of silence since the line before it ended."""

    position: str
    text: str
    gap: float


@dataclass(frozen=True, slots=True)
class Moment:
    """So many seconds after the go word of a cue."""

    cue: str
    seconds: float


@dataclass(frozen=True, slots=True)
class Row:
    """A row of truth, as far as it is known before the clips have a time.

    lines: which lines of the beat it spans; none for something that was not done.
    asked, answered: the lines between which an answer may be late; within: seconds allowed.
    due: for an elapsed call, the cue it counts from and how many seconds it may be off.
    """

    kind: Kind
    item: str = ""
    phase: str = ""
    position: str = ""
    status: Status | None = None
    flags: tuple[Flag, ...] = ()
    value: float | None = None
    unit: str = ""
    note: str = ""
    lines: tuple[int, ...] = ()
    asked: int | None = None
    answered: int | None = None
    within: float = 0.0
    due: Moment | None = None


@dataclass(frozen=True, slots=True)
class Beat:
    """Lines that follow each other without a break, and their rows.

    expires: the beat is left out if it would end later than this.
    wait: silence until this moment; such a beat has no lines.
    silence: seconds in which nobody speaks after it.
    """

    said: tuple[Said, ...] = ()
    rows: tuple[Row, ...] = ()
    expires: Moment | None = None
    wait: Moment | None = None
    silence: float = 0.0


@dataclass(frozen=True, slots=True)
class Script:
    """Beats in order, and calls that are made at their own time between them."""

    beats: tuple[Beat, ...]
    calls: tuple[tuple[Moment, Beat], ...]
