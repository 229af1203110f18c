"""When each line is spoken: beats one after another, timed calls at their moments between them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from samples_synthetic.script import Beat, Moment, Said, Script

__all__ = ["Spoken", "cue_times", "lay_out"]

_LEAD_IN_S = 1.5
_ASIDE_S = 0.35  # between a timed call and what is said around it


@dataclass(frozen=True, slots=True)
class Spoken:
    """A beat with the start and end of each of its lines, in seconds from the start."""

    beat: Beat
    starts: tuple[float, ...]
    ends: tuple[float, ...]


def lay_out(script: Script, seconds_of: Callable[[Said], float]) -> list[Spoken]:
    """All beats in the order in which they start; seconds_of: how long a line lasts.

    A beat without lines (something not done) is kept at its place, without times.
    """
    layout = _Layout(list(script.calls), seconds_of)
    for beat in script.beats:
        layout.add(beat)
    return layout.spoken


class _Layout:
    def __init__(
        self, calls: list[tuple[Moment, Beat]], seconds_of: Callable[[Said], float]
    ) -> None:
        self.spoken: list[Spoken] = []
        self._calls = calls
        self._seconds_of = seconds_of
        self._cues: dict[str, float] = {}
        self._clock = _LEAD_IN_S

    def add(self, beat: Beat) -> None:
        if beat.wait is not None:
            self._wait(beat.wait)
        elif not beat.said:
            self.spoken.append(Spoken(beat, (), ()))
        else:
            self._speak(beat)

    def _wait(self, moment: Moment) -> None:
        until = self._at(moment)
        if until is not None:
            self._make_calls(before=until)
            self._clock = max(self._clock, until)

    def _speak(self, beat: Beat) -> None:
        start = self._clock + beat.said[0].gap
        length = sum(self._seconds_of(said) for said in beat.said)
        length += sum(said.gap for said in beat.said[1:])
        expires = self._at(beat.expires) if beat.expires else None
        if expires is not None and start + length > expires:
            return
        called_until = self._make_calls(before=start + length + _ASIDE_S)
        if called_until is not None:
            start = max(start, called_until + _ASIDE_S)
        self._place(beat, start)
        self._clock += beat.silence

    def _make_calls(self, before: float) -> float | None:
        """Make the calls that fall due before a time; the end of the last one made."""
        last = None
        for moment, beat in list(self._calls):
            due = self._at(moment)
            if due is not None and due < before:
                self._calls.remove((moment, beat))
                self._place(beat, max(due, self._clock + _ASIDE_S))
                last = self._clock
        return last

    def _place(self, beat: Beat, start: float) -> None:
        starts: list[float] = []
        ends: list[float] = []
        for index, said in enumerate(beat.said):
            start = start if index == 0 else ends[-1] + said.gap
            starts.append(start)
            ends.append(start + self._seconds_of(said))
        self.spoken.append(Spoken(beat, tuple(starts), tuple(ends)))
        self._clock = ends[-1]
        for row in beat.rows:
            if row.kind == "cue" and row.lines:
                self._cues[row.item] = starts[row.lines[0]]

    def _at(self, moment: Moment) -> float | None:
        cue = self._cues.get(moment.cue)
        return None if cue is None else cue + moment.seconds


def cue_times(spoken: list[Spoken]) -> Mapping[str, float]:
    """The start of each cue's go word."""
    return {
        row.item: one.starts[row.lines[0]]
        for one in spoken
        for row in one.beat.rows
        if row.kind == "cue" and row.lines
    }
