"""A run as the debrief needs it: the log, its sheet, what was said, and what is known beside."""

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from voxlog.follow.event import Event
from voxlog.review.outcome import Outcome, cleared_row
from voxlog.review.signature import Signature
from voxlog.sheet.model import Sheet

__all__ = ["Channel", "Run", "Said", "SaidPhrase"]


class SaidPhrase(NamedTuple):
    """What an utterance may have been of the sheet; act and step as in sheet/phrases.py."""

    act: str
    step: str
    text: str


@dataclass(frozen=True, slots=True)
class Said:
    """An utterance. channel: from 1. start, end: seconds. text: the free transcription."""

    channel: int
    start: float
    end: float
    text: str
    phrases: tuple[SaidPhrase, ...]


@dataclass(frozen=True, slots=True)
class Channel:
    """A channel of the recording. number: from 1. path: relative to the run folder, as written in
    run.json. position: the id of who speaks on it, "" where nobody said.
    """

    number: int
    path: str
    seconds: float
    position: str


@dataclass(frozen=True, slots=True)
class Run:
    """Everything the page is made of but the sound.

    name: of the run folder. events: in the order of the log, so that row n is events[n - 1].
    start: moment of the first sample, None if unknown; start_source: who says so. drift_ppb: by
    how much the recording's clock ran slow, in thousand millionths. seal: digest of the closing
    record. remark: how the rows of a live run compare with the final ones, "" for other runs.
    outcomes: of the review, one for each row and then the added ones. signatures: oldest first.
    is_signed: whether all of the review stands under a signature.
    """

    name: str
    sheet: Sheet
    events: tuple[Event, ...]
    said: tuple[Said, ...]
    channels: tuple[Channel, ...]
    start: datetime | None
    start_source: str
    drift_ppb: int
    model: str
    version: str
    warnings: tuple[str, ...]
    seal: str
    remark: str
    outcomes: tuple[Outcome, ...]
    signatures: tuple[Signature, ...]
    is_signed: bool

    def row_now(self, n: int) -> Event:
        """Row n (from 1) as it stands after the review; as logged where nothing is agreed."""
        outcome = self.outcomes[n - 1]
        return outcome.event or cleared_row(outcome.logged)

    def rows_now(self) -> list[Event]:
        """All rows as they stand after the review, with those that reviewers added, by time."""
        rows = [self.row_now(n) for n in range(1, len(self.events) + 1)]
        added = [one.event for one in self.outcomes if one.is_added and one.event is not None]
        return sorted([*rows, *added], key=lambda row: (row.start, row.end)) if added else rows

    @property
    def seconds(self) -> float:
        """Length of the recording; of the log where the recording says nothing."""
        audio = max((channel.seconds for channel in self.channels), default=0.0)
        return max([audio, *(event.end for event in self.events), 1.0])
