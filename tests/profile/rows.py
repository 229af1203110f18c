"""Rows of a log in few words, for tests of the profile."""

from voxlog.follow.event import Event, Flag, Status

__all__ = ["call", "cue", "done", "step"]


def call(
    start: float,
    value: float,
    phase: str,
    item: str,
    *flags: Flag,
    p: float = 1.0,
    unit: str = "ft",
) -> Event:
    return Event(start, start + 2, "callout", phase, item, flags=flags, value=value, unit=unit, p=p)


def step(
    start: float, phase: str, item: str, status: Status = "confirmed", *flags: Flag, p: float = 1.0
) -> Event:
    return Event(start, start + 3, "item", phase, item, status=status, flags=flags, p=p)


def done(*places: tuple[float, str, str]) -> list[Event]:
    return [step(start, phase, item) for start, phase, item in places]


def cue(start: float, phase: str, item: str, status: Status | None = None) -> Event:
    return Event(start, start + 0.5, "cue", phase, item, status=status)
