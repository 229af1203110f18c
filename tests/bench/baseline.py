"""The obvious pipeline, to compare with: transcribe freely, then match text against the sheet.

faster-whisper `base` (transcript.py), then a greedy walk with rapidfuzz (greedy.py), then rows as
voxlog writes them, by the same rules for what is late, skipped, or out of order, so that the same
score can be taken. What differs is only what was heard and where in the sheet it was taken to be.
"""

import sys
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import soundfile

from tests.bench.greedy import Attempt, Call, Said, Walk, walk
from tests.bench.runs import CACHE
from tests.bench.transcript import Line, Transcriber
from voxlog.follow.callouts_due import missed_levels
from voxlog.follow.event import FLAGS, Event, Flag, Kind, Status
from voxlog.follow.order import out_of_order
from voxlog.log.table import format_table
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Cue, Item, Sheet

__all__ = ["baseline_events"]


def baseline_events(lines: Iterable[Line], sheet: Sheet, end: float) -> list[Event]:
    """The rows of a recording of `end` seconds, in order of time."""
    return _Rows(sheet, walk(lines, sheet), end).events()


class _Rows:
    def __init__(self, sheet: Sheet, walked: Walk, end: float) -> None:
        self._sheet = sheet
        self._steps = sheet.steps
        self._walk = walked
        self._end = end
        self._elapsed = {(p.id, e.id): e for p in sheet.phases for e in p.elapsed}
        self._readings = {("", reading.id): reading for reading in sheet.readings}
        self._readings |= {(p.id, r.id): r for p in sheet.phases for r in p.readings}
        self._misplaced = self._out_of_order()

    def events(self) -> list[Event]:
        others = [self._other(said) for said in self._walk.others]
        calls = [self._call(call) for call in self._walk.calls]
        levels = missed_levels(self._sheet, calls, self._phase_starts(), self._end)
        rows = [*self._items(), *self._skipped(), *others, *calls, *levels]
        return sorted(rows, key=lambda row: (row.start, row.end))

    def _out_of_order(self) -> set[int]:
        group_rank: dict[str, int] = {}
        stretches: dict[int, list[int]] = {}
        ranks = []
        for number, attempt in enumerate(self._walk.attempts):
            step = self._steps[attempt.step].step
            assert isinstance(step, Item)
            ranks.append(
                group_rank.setdefault(step.group, attempt.step) if step.group else attempt.step
            )
            stretches.setdefault(attempt.stretch, []).append(number)
        return {
            numbers[place]
            for numbers in stretches.values()
            for place in out_of_order([ranks[n] for n in numbers])
        }

    def _items(self) -> Iterator[Event]:
        done: set[int] = set()
        for number, attempt in enumerate(self._walk.attempts):
            yield self._item(
                attempt, misplaced=number in self._misplaced, again=attempt.step in done
            )
            done.add(attempt.step)

    def _item(self, attempt: Attempt, *, misplaced: bool, again: bool) -> Event:
        phase, item = self._steps[attempt.step]
        assert isinstance(item, Item)
        answer = attempt.answer
        value = answer.value if answer else None
        asked = attempt.asks[-1]
        flags: dict[Flag, bool] = {
            "out-of-order": misplaced,
            "off-limit": bool(
                item.value and value is not None and not item.value.is_within_limits(value)
            ),
            "late": bool(answer and answer.start - asked.end > self._sheet.seconds_to_answer(item)),
            "repeated": again or len(attempt.asks) > 1,
        }
        said = [*attempt.asks, *([answer] if answer else [])]
        corrected = attempt.corrected_from
        return Event(
            start=said[0].start,
            end=said[-1].end,
            kind="item",
            phase=phase.id,
            item=item.key,
            position=item.by,
            status=_status(answer),
            flags=tuple(flag for flag in FLAGS if flags.get(flag)),
            heard=" / ".join(one.text for one in said),
            value=value,
            unit=item.value.unit if item.value and value is not None else "",
            p=min(one.score for one in said) / 100,
            note="" if corrected is None else f"corrected from {corrected:g}",
        )

    def _skipped(self) -> Iterator[Event]:
        done = {attempt.step for attempt in self._walk.attempts}
        done |= {place for place, (_, step) in enumerate(self._steps) if self._is_given(step)}
        for place, (phase, step) in enumerate(self._steps):
            if place not in done:
                moment = self._passed(place)
                yield Event(
                    start=moment,
                    end=moment,
                    kind="cue" if isinstance(step, Cue) else "item",
                    phase=phase.id,
                    item=step.key,
                    position=step.by,
                    status="skipped",
                )

    def _is_given(self, step: Item | Cue) -> bool:
        return isinstance(step, Cue) and any(
            said.phrase.act == "go" and said.phrase.step == step.id for said in self._walk.others
        )

    def _passed(self, place: int) -> float:
        """When the first later step was begun in its order."""
        starts = (
            attempt.asks[0].start
            for number, attempt in enumerate(self._walk.attempts)
            if attempt.step > place and number not in self._misplaced
        )
        return next(starts, self._end)

    def _phase_starts(self) -> dict[str, float]:
        starts: dict[str, float] = {}
        for number, attempt in enumerate(self._walk.attempts):
            if number not in self._misplaced:
                phase = self._steps[attempt.step].phase.id
                starts.setdefault(phase, attempt.asks[0].start)
        return starts

    def _call(self, call: Call) -> Event:
        row = _event(call.said, "callout")
        if not call.said.phrase.others:  # nobody is to read it back
            return row
        back = call.read_back
        if back is None:
            return replace(row, status="unconfirmed")
        heard = f"{row.heard} / {back.text}"
        if back.value != row.value:
            flags: tuple[Flag, ...] = ("misread",)
            return replace(row, end=back.end, heard=heard, status="unconfirmed", flags=flags)
        return replace(row, end=back.end, heard=heard, status="confirmed")

    def _other(self, said: Said) -> Event:
        act = said.phrase.act
        if act == "go":
            return _event(said, "cue", start=said.last_start)
        if act == "elapsed":
            return _event(said, "callout", flag="late" if self._is_late(said) else None)
        if act == "reading":
            return _event(said, "reading", flag="off-limit" if self._is_off_limit(said) else None)
        return _event(said, "hold" if act == "hold" else "resume")

    def _is_late(self, said: Said) -> bool:
        elapsed = self._elapsed[said.phrase.phase, said.phrase.step]
        given = [
            one.last_start
            for one in self._walk.others
            if one.phrase.act == "go" and one.phrase.step == elapsed.cue
        ]
        assert said.value is not None
        return bool(given) and abs(said.start - given[0] - said.value) > elapsed.tolerance

    def _is_off_limit(self, said: Said) -> bool:
        assert said.value is not None
        reading = self._readings[said.phrase.phase, said.phrase.step]
        return not reading.is_within_limits(said.value)


def _event(said: Said, kind: Kind, start: float | None = None, flag: Flag | None = None) -> Event:
    phrase = said.phrase
    return Event(
        start=said.start if start is None else start,
        end=said.end,
        kind=kind,
        phase=phrase.phase,
        item=phrase.step,
        position=phrase.position,
        flags=(flag,) if flag else (),
        heard=said.text,
        value=said.value,
        unit=phrase.slot.unit if phrase.slot else "",
        p=said.score / 100,
    )


def _status(answer: Said | None) -> Status:
    if answer is None:
        return "unconfirmed"
    return "negative" if answer.phrase.act in ("deny", "negative") else "confirmed"


def main() -> None:
    """`python -m tests.bench.baseline AUDIO SHEET`: prints the rows as events.csv has them."""
    audio, sheet = Path(sys.argv[1]), load_sheet(Path(sys.argv[2]))
    lines = Transcriber(CACHE).lines(audio)
    print(format_table(baseline_events(lines, sheet, soundfile.info(audio).duration)), end="")


if __name__ == "__main__":
    main()
