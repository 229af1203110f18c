"""Judge what is said beside the items: callouts and read-backs, times, readings, holds, talk."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from voxlog.follow.event import FLAGS, Event, Flag, Kind
from voxlog.follow.evidence import ActEvidence, SideAct
from voxlog.follow.probability import best_of_each, posterior, squash
from voxlog.sheet.model import Callout, Elapsed, Reading, Sheet
from voxlog.speech.utterance import Utterance

__all__ = ["Spoken", "judge_asides"]

SURE_VALUE = 0.60
THIS_PHASE = 2.0
"""Nats that a phrase of another phase loses."""
DUE, NO_LEVEL = 2.5, -3.1
"""Nats that a level gains by being one still to come, and loses by being none that is ever due: of
11 calls on the fit scenarios none was, half a call added."""
DUE_NOW, NOT_DUE = 4.0, -3.4
"""Nats that a time gains by being due when it is called, and loses by never being due, or nearer
to another moment than to this: of 16 calls 15 were due then, one some seconds off, none never."""
READ_BACK_RIGHT = 1.5
"""Nats that a read-back gains by being right. On the fit scenarios 11 of 12 are, which would be
5.4; but a wrong one is what must be found, and 3.0 hid one."""
EXPECTED = 2.0
"""Nats in favour of a phrase of the sheet before anything is heard."""
LEAST_EVIDENCE = -2.0
"""Evidence under which an utterance is taken for speech that the sheet does not list."""
NOT_CALLED = -1.1
"""Nats that a read-back ("copied one five") loses where no call waits for one, and nothing was said
just before that may have been the call: of 9 on the fit recordings one was a read-back and one a
call, half a one of each sort added."""
CALLED_BEFORE = 2.0
"""Seconds before a read-back in which speech that nobody made out may have been its call."""
READ_BACK_GRACE = 4.0
"""Seconds after `within` in which the same kind of number still counts as a (late) read-back."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """An utterance that belongs to no exchange, and the phase in which it was said."""

    evidence: ActEvidence
    phase: str


def judge_asides(sheet: Sheet, spoken: Sequence[Spoken], cues: Sequence[Event]) -> list[Event]:
    """The rows of all asides, in time order.

    cues: the rows of the cues, of which the last of each counts. Where its go word was not heard
    the moment is not known; the first elapsed time that is called then says when it was, and the
    others are late by that.
    """
    return _Asides(sheet, cues).judge(spoken)


class _Asides:
    """Goes through the asides in time; a callout waits here for its read-back."""

    def __init__(self, sheet: Sheet, cues: Sequence[Event]) -> None:
        self._sheet = sheet
        last = {cue.item: cue for cue in cues}
        self._moments = {item: cue.start for item, cue in last.items()}
        self._unheard = {item for item, cue in last.items() if cue.status == "unconfirmed"}
        self._callouts = {(p.id, c.id): c for p in sheet.phases for c in p.callouts}
        self._elapsed = {(p.id, e.id): e for p in sheet.phases for e in p.elapsed}
        self._readings = sheet.readings_by_place
        self._due = {key: list(callout.levels) for key, callout in self._callouts.items()}
        self._waiting: tuple[Callout, Event] | None = None
        self._unclear: Utterance | None = None
        self._events: list[Event] = []

    def judge(self, spoken: Sequence[Spoken]) -> list[Event]:
        for one in spoken:
            self._add(one)
        self._give_up_waiting()
        return sorted(self._events, key=lambda event: event.start)

    def _add(self, one: Spoken) -> None:
        best = self._best(one)
        if best is None:
            self._events.append(_note(one))
            self._unclear = one.evidence.utterance
        elif best.act == "callout":
            self._called(one, best, self._callouts[best.phase, best.id])
        elif best.act == "elapsed":
            self._events.append(self._timed(one, best, self._elapsed[best.phase, best.id]))
        elif best.act == "reading":
            self._events.append(
                _read(one, best, self._readings[best.phase, best.id], self._values(one, best))
            )
        elif best.act == "hold":
            self._events.append(_row(one, best, "hold"))
        else:
            self._events.append(replace(_note(one), heard=best.text, note=best.act))

    def _best(self, one: Spoken) -> SideAct | None:
        weighed = [self._weighed(side, one) for side in one.evidence.sides]
        good = [side for side in weighed if side.evidence > LEAST_EVIDENCE]
        return max(good, key=lambda side: side.evidence, default=None)

    def _weighed(self, side: SideAct, one: Spoken) -> SideAct:
        """The side act with what its phase and the level or time now due add."""
        due = 0.0
        if side.act == "callout":
            due = self._level_due(side, one)
        elif side.act == "elapsed" and side.value is not None:
            due = self._time_due(self._elapsed[side.phase, side.id], side.value, one)
        if side.phase and side.phase != one.phase:  # where nothing is due yet, or any more
            due = min(due, 0.0) - THIS_PHASE
        return replace(side, evidence=side.evidence + due)

    def _level_due(self, side: SideAct, one: Spoken) -> float:
        """Nats in favour of a level: read back while a call waits for that, else called in turn."""
        is_right = self._waiting is not None and side.value == self._waiting[1].value
        if is_right or self._overdue(one) <= 0:
            return READ_BACK_RIGHT if is_right else 0.0
        due = self._due.get((side.phase, side.id), [])
        return (DUE if side.value in due else NO_LEVEL) + self._uncalled(side, one)

    def _uncalled(self, side: SideAct, one: Spoken) -> float:
        """Nats that words in which a level is read back lose, if nothing called it."""
        is_alone = _is_read_back_only(side, self._callouts[side.phase, side.id])
        is_uncalled = self._waiting is None and self._unheard_call(one) is None
        return NOT_CALLED if is_alone and is_uncalled else 0.0

    def _time_due(self, elapsed: Elapsed, value: float, one: Spoken) -> float:
        """Nats in favour of an elapsed time."""
        since = self._since(elapsed, one)
        if since is None:
            return -THIS_PHASE
        if value not in elapsed.due:
            return NOT_DUE
        late = abs(since - value)
        if late <= elapsed.tolerance:
            return DUE_NOW
        return 0.0 if late < elapsed.every / 2 else NOT_DUE

    def _overdue(self, one: Spoken) -> float:
        """Seconds since the time for the read-back that is waited for was over; inf for none."""
        if self._waiting is None:
            return math.inf
        return self._seconds_late(one, self._waiting[1], self._waiting[0])

    def _seconds_late(self, one: Spoken, event: Event, callout: Callout) -> float:
        """Seconds since the time in which a callout's row may be answered was over."""
        return one.evidence.utterance.start - event.end - (callout.within or self._sheet.within)

    def _since(self, elapsed: Elapsed, one: Spoken) -> float | None:
        cue = self._moments.get(elapsed.cue)
        start = one.evidence.utterance.start
        return None if cue is None or cue > start else start - cue

    def _called(self, one: Spoken, best: SideAct, callout: Callout) -> None:
        if self._is_read_back(one, best):
            self._read_back(one, best)
            return
        if self._is_said_again(one, best, callout):
            self._events[-1] = _with_again(self._events[-1], one, best)
            return
        self._give_up_waiting()
        event = self._valued(one, best, "callout")
        due = self._due[best.phase, best.id]
        if best.value in due:
            del due[: due.index(best.value) + 1]
        unheard = self._unheard_call(one) if _is_read_back_only(best, callout) else None
        if unheard is not None:
            self._events.append(_read_back_alone(event, unheard))
        elif callout.read_back is None:
            self._events.append(event)
        else:
            self._waiting = callout, event

    def _unheard_call(self, one: Spoken) -> Utterance | None:
        """The speech just before that nobody made out: where a level is read back, its call."""
        before = self._unclear
        start = one.evidence.utterance.start
        return before if before is not None and start - before.end <= CALLED_BEFORE else None

    def _is_read_back(self, one: Spoken, best: SideAct) -> bool:
        """Whether a number answers the callout that waits: in time it does, whatever it is.

        After its time, a level still to come is called and not read back: late and wrong is rare.
        """
        if self._waiting is None:
            return False
        level, late = self._waiting[1].value, self._overdue(one)
        is_to_come = best.value != level and best.value in self._due[best.phase, best.id]
        return late <= 0 or (late <= READ_BACK_GRACE and not is_to_come)

    def _is_said_again(self, one: Spoken, best: SideAct, callout: Callout) -> bool:
        """Whether a level that was just read back is only said once more."""
        if self._waiting is not None or not self._events:
            return False
        last = self._events[-1]
        is_same = (last.phase, last.item, last.value) == (best.phase, best.id, best.value)
        is_confirmed = last.status == "confirmed"
        return is_same and is_confirmed and self._seconds_late(one, last, callout) <= 0

    def _read_back(self, one: Spoken, best: SideAct) -> None:
        assert self._waiting is not None
        event, late = self._waiting[1], self._overdue(one)
        values = self._values(one, best)
        self._waiting = None
        flags = set(event.flags)
        if best.value != event.value:
            flags.add("misread")
        if _by_sound(one, best) < SURE_VALUE:
            flags.add("uncertain")
        if late > 0:
            flags.add("late")
        self._events.append(
            replace(
                _with_again(event, one, best),
                status="unconfirmed" if "misread" in flags else "confirmed",
                flags=_ordered(flags),
                p=event.p * values[best.value or 0.0],
            )
        )

    def _give_up_waiting(self) -> None:
        if self._waiting is not None:
            self._events.append(replace(self._waiting[1], status="unconfirmed"))
            self._waiting = None

    def _timed(self, one: Spoken, best: SideAct, elapsed: Elapsed) -> Event:
        event = replace(self._valued(one, best, "callout"), unit="s")
        since = self._since(elapsed, one)
        if since is None or event.value is None:
            return event
        if elapsed.cue in self._unheard:
            if event.value in elapsed.due:
                self._unheard.remove(elapsed.cue)
                self._moments[elapsed.cue] = event.start - event.value
            return event
        if abs(since - event.value) <= elapsed.tolerance:
            return event
        return replace(event, flags=_ordered({*event.flags, "late"}))

    def _values(self, one: Spoken, best: SideAct) -> dict[float, float]:
        """Probabilities of the values that this act may have carried."""
        return posterior(
            best_of_each(
                (side.value or 0.0, self._weighed(side, one).evidence)
                for side in one.evidence.sides
                if (side.act, side.id) == (best.act, best.id)
            )
        )

    def _valued(self, one: Spoken, best: SideAct, kind: Kind) -> Event:
        p_value = self._values(one, best)[best.value or 0.0]
        event = _row(one, best, kind)
        flags: tuple[Flag, ...] = ("uncertain",) if p_value < SURE_VALUE else ()
        return replace(event, flags=flags, p=event.p * p_value)


def _is_read_back_only(side: SideAct, callout: Callout) -> bool:
    """Whether these are words in which a level is read back and not called."""
    return side.position == callout.read_back != callout.by


def _read_back_alone(event: Event, call: Utterance) -> Event:
    """The row of a level that was read back after a call that nobody made out."""
    return replace(
        event,
        start=call.start,
        status="confirmed",
        flags=_ordered({*event.flags, "uncertain"}),
        note="its call was not made out",
    )


def _by_sound(one: Spoken, best: SideAct) -> float:
    """Probability of an act's value by what was heard alone, whatever was due."""
    sides = [s for s in one.evidence.sides if (s.act, s.id) == (best.act, best.id)]
    return posterior(best_of_each((s.value, s.by_sound) for s in sides))[best.value]


def _with_again(event: Event, one: Spoken, best: SideAct) -> Event:
    """A callout's row with its level said once more."""
    return replace(event, end=one.evidence.utterance.end, heard=f"{event.heard} / {best.text}")


def _read(one: Spoken, best: SideAct, reading: Reading, values: dict[float, float]) -> Event:
    event = _row(one, best, "reading")
    flags: set[Flag] = set()
    value = best.value or 0.0
    if not reading.is_within_limits(value):
        flags.add("off-limit")
    if _by_sound(one, best) < SURE_VALUE:
        flags.add("uncertain")
    return replace(event, flags=_ordered(flags), p=event.p * values[value])


def _row(one: Spoken, best: SideAct, kind: Kind) -> Event:
    utterance = one.evidence.utterance
    return Event(
        start=utterance.start,
        end=utterance.end,
        kind=kind,
        phase=best.phase or one.phase,
        item=best.id,
        position=best.position,
        heard=best.text,
        value=best.value,
        unit=best.unit,
        p=squash(best.evidence + EXPECTED),
    )


def _note(one: Spoken) -> Event:
    utterance = one.evidence.utterance
    best = max((heard.evidence for heard in utterance.heard), default=-10.0)
    return Event(
        start=utterance.start,
        end=utterance.end,
        kind="note",
        phase=one.phase,
        heard=utterance.text,
        p=squash(-best),
    )


def _ordered(flags: Collection[Flag]) -> tuple[Flag, ...]:
    return tuple(flag for flag in FLAGS if flag in flags)
