"""From a scenario to a script: walk the sheet, and plant the deviations at their places."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

import numpy as np

from samples_synthetic.announce import Announcer
from samples_synthetic.exchange import Exchange
from samples_synthetic.scenario import Deviation, Plant, Scenario
from samples_synthetic.script import Beat, Moment, Row, Said, Script
from samples_synthetic.talk import FAULTS, FREE
from voxlog.errors import InputError
from voxlog.follow.event import Kind
from voxlog.sheet.model import Callout, Cue, Elapsed, Item, Phase

__all__ = ["write_script"]

_READING_SHARE = 0.15  # of steps followed by a reading
_TALK_SHARE = 0.08  # of steps followed by free talk
_FILL_EVERY_S = 9.0  # between readings while the time called runs on
_AFTER_LAST_CALL_S = 4.0

_Step = Item | Cue


def write_script(scenario: Scenario) -> Script:
    """The script of a scenario; InputError for a deviation that does not fit its place."""
    walk = _Walk(scenario)
    for phase in scenario.sheet.phases:
        walk.phase(phase)
    walk.refuse_unplanted()
    return Script(tuple(walk.beats), tuple(walk.calls))


class _Walk:
    def __init__(self, scenario: Scenario) -> None:
        self.name = scenario.name
        self.sheet = scenario.sheet
        self.rng = np.random.default_rng(scenario.seed)
        self.exchange = Exchange(self.sheet, self.rng)
        self.announce = Announcer(self.sheet, self.exchange, self.rng)
        self.plants = list(scenario.plants)
        self.beats: list[Beat] = []
        self.calls: list[tuple[Moment, Beat]] = []
        self.talk = [line for line in FREE if line[0] in self.sheet.positions]
        self.rng.shuffle(self.talk)

    def phase(self, phase: Phase) -> None:
        if self._take("skip-phase", phase.id):
            self._leave_out(phase)
            return
        steps = self._ordered(phase.steps)
        calls = [(callout, level) for callout in phase.callouts for level in callout.levels]
        after = [index * len(steps) // len(calls) for index in range(len(calls))]
        place = 0
        while place < len(steps):
            if phase.elapsed and place == len(steps) - 1:
                self._run_out(phase)
            done = self._step(phase, steps, place)
            for (callout, level), step in zip(calls, after, strict=True):
                if place <= step < place + done:
                    self._callout(callout, level, phase)
            place += done

    def refuse_unplanted(self) -> None:
        if self.plants:
            plant = self.plants[0]
            raise InputError(
                f"{self.name}: {plant.what} at {plant.at} found no place, because its step was "
                "left out or taken by another deviation; plant it elsewhere"
            )

    def _step(self, phase: Phase, steps: list[_Step], place: int) -> int:
        """Do one step, or two that a deviation ties together; how many were done."""
        step = steps[place]
        if isinstance(step, Cue):
            self.beats.append(self.announce.cue(step, phase.id))
            self._start_clocks(phase, step)
            return 1
        for tie in ("swap", "one-breath"):
            if self._take(tie, step.key):
                other = self._tied(tie, step, steps[place + 1 : place + 2])
                self._do_two(tie, step, other, phase)
                self._after(step, phase)
                self._after(other, phase)
                return 2
        self._item(step, phase)
        self._after(step, phase)
        return 1

    def _item(self, item: Item, phase: Phase) -> None:
        if self._take("skip", item.key):
            self.beats.append(Beat(rows=(_skipped("item", item.key, phase.id, item.by),)))
            return
        here = [p for p in self.plants if p.at == item.key and p.what in Exchange.KINDS]
        if here:
            self.plants.remove(here[0])
            self.beats.append(self.exchange.deviating(here[0].what, item, phase.id))
        else:
            self.beats.append(self.exchange.plain(item, phase.id))

    def _tied(self, what: Deviation, item: Item, following: list[_Step]) -> Item:
        other = following[0] if following else None
        if not isinstance(other, Item):
            raise InputError(f"{self.name}: {what} at {item.key} needs an item right after it")
        if what == "swap" and item.group and item.group == other.group:
            raise InputError(f"{self.name}: swap at {item.key} is within an any-order group")
        return other

    def _do_two(self, what: Deviation, first: Item, second: Item, phase: Phase) -> None:
        if what == "swap":
            self._item(second, phase)
            self._item(first, phase)
        else:
            self.beats.append(self.exchange.one_breath(first, second, phase.id))

    def _after(self, item: Item, phase: Phase) -> None:
        """What is said between this item and the next step."""
        if plant := self._take("off-limit-reading", item.key):
            reading = next(r for r in self.sheet.readings if r.id == plant.reading)
            self.beats.append(self.announce.reading(reading, phase.id, is_within=False))
        elif self.rng.random() < _READING_SHARE:
            self.beats.append(self.announce.any_reading(phase))
        if plant := self._take("chatter", item.key):
            self._say(self._somebody(), plant.say or "", phase.id)
        elif self.talk and self.rng.random() < _TALK_SHARE:
            self._say(*self.talk.pop(), phase.id)
        if plant := self._take("hold", item.key):
            self._hold(plant, item, phase)

    def _hold(self, plant: Plant, item: Item, phase: Phase) -> None:
        """Stop, talk about a fault, resume at an earlier item and do it all again from there."""
        self.beats.append(self.announce.hold(self._somebody(), phase.id))
        for position, words in FAULTS[int(self.rng.integers(len(FAULTS)))]:
            if position in self.sheet.positions:
                self._say(position, words, phase.id)
        numbers = [i.number for i in self.sheet.items]
        resume = plant.resume or item.number
        self.beats.append(self.announce.resume(resume, phase.id))
        for number in numbers[numbers.index(resume) : numbers.index(item.number) + 1]:
            home = next(s.phase for s in self.sheet.steps if s.step is self.sheet.item(number))
            self.beats.append(self.exchange.plain(self.sheet.item(number), home.id))

    def _callout(self, callout: Callout, level: float, phase: Phase) -> None:
        place = f"{callout.id} {level:g}"
        if self._take("no-callout", place):
            self.beats.append(Beat(rows=(_silent_level(callout, level, phase.id),)))
        elif self._take("misread", place):
            self.beats.append(self.announce.callout(callout, level, phase.id, "misread"))
        elif self._take("no-read-back", place):
            self.beats.append(self.announce.callout(callout, level, phase.id, "no-read-back"))
        else:
            self.beats.append(self.announce.callout(callout, level, phase.id))

    def _start_clocks(self, phase: Phase, cue: Cue) -> None:
        for elapsed in phase.elapsed:
            if elapsed.cue == cue.id:
                self.calls += [self._timed_call(elapsed, due, phase) for due in elapsed.due]

    def _timed_call(self, elapsed: Elapsed, due: float, phase: Phase) -> tuple[Moment, Beat]:
        is_late = self._take("late-call", f"{elapsed.id} {due:g}") is not None
        off = elapsed.tolerance + self.rng.uniform(2, 4) if is_late else self.rng.uniform(-0.8, 1.0)
        moment = Moment(elapsed.cue, due + float(off))
        return moment, self.announce.elapsed(elapsed, due, phase.id)

    def _run_out(self, phase: Phase) -> None:
        """Readings until the last elapsed call of the phase has been made."""
        for elapsed in phase.elapsed:
            end = Moment(elapsed.cue, elapsed.until - 5)
            for _ in range(int(elapsed.until / _FILL_EVERY_S)):
                self.beats.append(self.announce.filler(phase, end))
            last = Moment(elapsed.cue, elapsed.until + elapsed.tolerance + _AFTER_LAST_CALL_S)
            self.beats.append(Beat(wait=last))

    def _leave_out(self, phase: Phase) -> None:
        rows = [
            _skipped("item" if isinstance(step, Item) else "cue", step.key, phase.id, step.by)
            for step in phase.steps
        ]
        rows += [_silent_level(c, level, phase.id) for c in phase.callouts for level in c.levels]
        self.beats.append(Beat(rows=tuple(rows)))

    def _say(self, position: str, words: str, phase: str) -> None:
        said = Said(position, words, self.exchange.pause())
        row = Row(kind="note", phase=phase, position=position, lines=(0,))
        self.beats.append(Beat((said,), (row,)))

    def _somebody(self) -> str:
        return self.exchange.choose(tuple(self.sheet.positions))

    def _ordered(self, steps: tuple[_Step, ...]) -> list[_Step]:
        """The steps of a phase, the items of an any-order group shuffled."""
        return [step for run in self._runs(steps) for step in run]

    def _runs(self, steps: tuple[_Step, ...]) -> Iterator[list[_Step]]:
        for group, run in groupby(steps, key=lambda s: s.group if isinstance(s, Item) else None):
            members = list(run)
            if group:
                self.rng.shuffle(members)
            yield members

    def _take(self, what: Deviation, at: str) -> Plant | None:
        for plant in self.plants:
            if plant.what == what and plant.at == at:
                self.plants.remove(plant)
                return plant
        return None


def _skipped(kind: Kind, key: str, phase: str, position: str) -> Row:
    return Row(kind=kind, item=key, phase=phase, position=position, status="skipped")


def _silent_level(callout: Callout, level: float, phase: str) -> Row:
    row = _skipped("callout", callout.id, phase, callout.by)
    return replace(row, value=level, unit=callout.unit)
