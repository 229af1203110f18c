"""The decisions of a run as all its reviewers make them: read again whenever the file has grown."""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from voxlog.review.decision import Decision
from voxlog.review.outcome import Outcome, outcomes
from voxlog.review.review_log import append_decision, read_review
from voxlog.review_page.form import Form, decision_of
from voxlog.review_page.run import ReviewRun

__all__ = ["Ledger", "State"]

FILE = "review.jsonl"


@dataclass(frozen=True, slots=True)
class State:
    """All decisions in order, and what they come to row by row."""

    decisions: tuple[Decision, ...] = ()
    outcomes: tuple[Outcome, ...] = ()


class Ledger:
    """One reviewer's hand on review.jsonl. Safe for several threads."""

    def __init__(
        self, run: ReviewRun, reviewer: str, now: Callable[[], datetime] = lambda: datetime.now(UTC)
    ) -> None:
        self._run = run
        self._reviewer = reviewer
        self._now = now
        self._lock = threading.Lock()
        self._seen: tuple[int, int] | None = None
        self._state = State()

    def state(self) -> State:
        """As it is on the disk now. InputError where review.jsonl is not whole."""
        with self._lock:
            return self._read()

    def decide(self, sent: Any) -> State:
        """Append what the browser sent; it is on the disk when this returns.

        InputError for what cannot be recorded; then nothing was written.
        """
        with self._lock:
            rows = tuple(row.logged for row in self._read().outcomes)
            form = Form(self._run.sheet, rows, self._run.seconds, self._reviewer)
            append_decision(self._run.folder, decision_of(sent, form, self._now()))
            return self._read()

    def _read(self) -> State:
        stamp = _stamp(self._run.folder / FILE)
        if stamp != self._seen or not self._state.outcomes:
            decisions = tuple(read_review(self._run.folder).decisions)
            self._state = State(decisions, tuple(outcomes(self._run.events, decisions)))
            self._seen = stamp
        return self._state


def _stamp(path: Path) -> tuple[int, int] | None:
    """What differs after every line that is added; None while there is no file."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_size, found.st_mtime_ns
