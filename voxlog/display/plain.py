"""One line a change: for screen readers, for logs, for terminals that can do no more.

Each line is whole, starts with the run time, and has no control codes. What did not change is not
said again, but for a line with everything each minute.
"""

import contextlib
from collections.abc import Iterator
from types import TracebackType
from typing import Final, Self, TextIO

from voxlog.display.facts import (
    Fact,
    channel_fact,
    clean,
    facts_of,
    format_run_time,
    open_line,
    recording_line,
)
from voxlog.live.state import RunState

__all__ = ["PlainDisplay", "changes_in_words", "status_in_words"]

STATUS_EVERY_S: Final = 60.0
_BEHIND_S: Final = 5.0


def changes_in_words(before: RunState | None, now: RunState) -> Iterator[str]:
    """What a listener must know that `before` did not say; most urgent first."""
    last = before or RunState()
    if before is None or recording_line(now) != recording_line(last):
        yield _sentence("recording", recording_line(now)[0].lower())
    if now.gate != last.gate:
        yield _sentence("gate", clean(now.gate) or "clear")
    yield from _channels(last, now)
    yield from _level(last, now)
    if _is_behind(now) != _is_behind(last):
        yield _sentence("listening", _behind(now) if _is_behind(now) else "caught up")
    if now.answer and now.answer != last.answer:
        yield _sentence("answer", clean(now.answer))
    for row in now.rows:
        if row not in last.rows:
            change = "" if row.change == "new" else f"{clean(row.change)}: "
            yield f"row {row.number}: {change}{clean(row.text)}"
    if now.open != last.open:
        yield _sentence("open", _open(now))
    if _due(now) != _due(last):
        yield _sentence("due", _due(now))


def status_in_words(state: RunState) -> str:
    """Everything, in one line."""
    facts = [_fact(fact) for fact in facts_of(state)[:-1]]
    parts = [
        recording_line(state)[0].lower(),
        f"due {_due(state)}",
        f"open {_open(state)}",
        *facts,
        *(_fact(channel_fact(channel)) for channel in state.channels),
        f"findings {state.findings}",
        _behind(state),
    ]
    return _sentence("status", "; ".join(parts))


class PlainDisplay:
    """Writes what changed to a stream, and the status once a minute of run time."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._last: RunState | None = None
        self._status_at = STATUS_EVERY_S

    def __enter__(self) -> Self:
        return self

    def show(self, state: RunState) -> None:
        lines = list(changes_in_words(self._last, state))
        if state.run_s >= self._status_at:
            lines.append(status_in_words(state))
            self._status_at = state.run_s - state.run_s % STATUS_EVERY_S + STATUS_EVERY_S
        self._last = state
        self._write([f"{format_run_time(state.run_s)} {line}" for line in lines])

    def _write(self, lines: list[str]) -> None:
        """A reader that went away, or one that knows no such letter, must not end the run."""
        encoding = getattr(self._stream, "encoding", None) or "utf-8"
        with contextlib.suppress(OSError, ValueError):  # ValueError: the file is closed
            for line in lines:
                known = line.encode(encoding, "replace").decode(encoding)
                self._stream.write(f"{known}\n")
            if lines:
                self._stream.flush()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Nothing to put back."""


def _sentence(about: str, words: str) -> str:
    return f"{about}: {words}"


def _due(state: RunState) -> str:
    due = state.due
    if due is None:
        return "nothing"
    number = f"item {clean(due.number)}, " if due.number else ""
    return f"{number}{clean(due.words)}, {clean(due.position)}"


def _open(state: RunState) -> str:
    return "; ".join(open_line(item) for item in state.open) or "none"


def _fact(fact: Fact) -> str:
    return " ".join(part for part in (fact.label, fact.figure, fact.detail) if part)


def _is_behind(state: RunState) -> bool:
    return state.behind_s >= _BEHIND_S


def _behind(state: RunState) -> str:
    return f"behind by {max(0.0, state.behind_s):.0f} s"


def _channels(last: RunState, now: RunState) -> Iterator[str]:
    """A channel's warning when it comes and when it goes."""
    before = {channel.position: channel_fact(channel).matter for channel in last.channels}
    words = {channel.position: channel_fact(channel).detail for channel in last.channels}
    for channel in now.channels:
        fact = channel_fact(channel)
        was = before.get(channel.position, "calm")
        if fact.matter != was or (
            fact.matter != "calm" and fact.detail != words.get(channel.position)
        ):
            yield f"channel {fact.label}: {fact.detail}"


def _level(last: RunState, now: RunState) -> Iterator[str]:
    """Time at level: when its limit is near and when it is over, not each second."""
    fact = facts_of(now)[3]
    if fact.matter != facts_of(last)[3].matter and fact.matter != "calm":
        yield _sentence("time at level", f"{fact.figure}, {fact.detail}")
