"""What is said beside the items: cues, callouts, elapsed times, readings, hold and resume."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from samples_synthetic.exchange import Exchange, value_between
from samples_synthetic.figures import spoken
from samples_synthetic.script import Beat, Moment, Row, Said
from voxlog.sheet.model import Callout, Cue, Elapsed, Phase, Reading, Sheet

__all__ = ["Announcer"]

_CLIMB_S = (5.0, 16.0)  # silence before a level is passed
_COUNT_S = (0.45, 0.7)  # between the words of a count
_READ_BACKS = ("{value}", "{value}", "copied {value}", "roger {value}")


@dataclass
class Announcer:
    """Writes the beats that are not items; the generator decides wording, values and gaps."""

    sheet: Sheet
    exchange: Exchange
    rng: np.random.Generator

    def cue(self, cue: Cue, phase: str) -> Beat:
        """Announcement, count and go word; the row is the go word alone."""
        words = [self.exchange.choose(cue.say)] if cue.say else []
        words += [*cue.count, self.exchange.choose(cue.go)]
        gap = self._between(_COUNT_S)
        gaps = [self.exchange.pause(), *([gap] * (len(words) - 1))]
        said = tuple(Said(cue.by, word, g) for word, g in zip(words, gaps, strict=True))
        row = Row(kind="cue", item=cue.id, phase=phase, position=cue.by, lines=(len(words) - 1,))
        return Beat(said, (row,))

    def callout(
        self,
        callout: Callout,
        level: float,
        phase: str,
        what: Literal["right", "misread", "no-read-back"] = "right",
    ) -> Beat:
        """A level, and its read-back if one is wanted."""
        call = Said(
            callout.by, self._number(callout.say, level, callout.unit), self._between(_CLIMB_S)
        )
        row = Row(
            kind="callout",
            item=callout.id,
            phase=phase,
            position=callout.by,
            value=level,
            unit=callout.unit,
            lines=(0,),
        )
        if callout.read_back is None:
            return Beat((call,), (row,))
        if what == "no-read-back":
            row = replace(row, status="unconfirmed")
            return Beat((call,), (row,), silence=self._between((2.0, 4.0)))
        heard = level if what == "right" else self._another_level(callout, level)
        text = self._number(_READ_BACKS, heard, callout.unit)
        answer = Said(callout.read_back, text, self._between((0.3, 1.2)))
        row = replace(
            row,
            status="confirmed" if what == "right" else "unconfirmed",
            flags=() if what == "right" else ("misread",),
            lines=(0, 1),
            asked=0,
            answered=1,
            within=callout.within or self.sheet.within,
        )
        return Beat((call, answer), (row,))

    def elapsed(self, elapsed: Elapsed, due: float, phase: str) -> Beat:
        """A time since a cue, to be spoken when it is due."""
        said = Said(elapsed.by, self._number(elapsed.say, due, elapsed.unit), 0.0)
        row = Row(
            kind="callout",
            item=elapsed.id,
            phase=phase,
            position=elapsed.by,
            value=due,
            unit=elapsed.unit,
            lines=(0,),
            due=Moment(elapsed.cue, elapsed.tolerance),
        )
        return Beat((said,), (row,))

    def reading(self, reading: Reading, phase: str, *, is_within: bool = True) -> Beat:
        """A reading inside or outside its limits."""
        value = value_between(reading, self.rng, is_within=is_within)
        said = Said(
            reading.by, self._number(reading.say, value, reading.unit), self.exchange.pause()
        )
        row = Row(
            kind="reading",
            item=reading.id,
            phase=phase,
            position=reading.by,
            flags=() if is_within else ("off-limit",),
            value=value,
            unit=reading.unit,
            lines=(0,),
        )
        return Beat((said,), (row,))

    def any_reading(self, phase: Phase) -> Beat:
        """Any of the phase's readings; an empty beat if it has none."""
        readings = self.sheet.readings_in(phase.id)
        if not readings:
            return Beat()
        return self.reading(readings[int(self.rng.integers(len(readings)))], phase.id)

    def filler(self, phase: Phase, end: Moment) -> Beat:
        """A reading after some quiet, unless it would be spoken after `end`."""
        beat = self.any_reading(phase)
        said = tuple(Said(s.position, s.text, self._between((5.0, 10.0))) for s in beat.said)
        return Beat(said, beat.rows, expires=end)

    def hold(self, position: str, phase: str) -> Beat:
        """The words that stop the work."""
        said = Said(position, self.exchange.choose(self.sheet.hold), self.exchange.pause())
        return Beat((said,), (Row(kind="hold", phase=phase, position=position, lines=(0,)),))

    def resume(self, number: int, phase: str) -> Beat:
        """The words that take it up again at an item."""
        words = self.exchange.choose(self.sheet.resume)
        text = words.replace("{item}", spoken(number, "", self.rng))
        said = Said(self.sheet.asks, text, self._between((1.0, 3.0)))
        row = Row(
            kind="resume", phase=phase, position=self.sheet.asks, value=float(number), lines=(0,)
        )
        return Beat((said,), (row,))

    def _number(self, texts: tuple[str, ...], value: float, unit: str) -> str:
        return self.exchange.choose(texts).replace("{value}", spoken(value, unit, self.rng))

    def _another_level(self, callout: Callout, level: float) -> float:
        """A level that could be misread for this one: one or five steps off."""
        low, high = callout.sayable
        near = [level + sign * n * callout.step for sign in (-1, 1) for n in (1, 5)]
        fitting = [other for other in near if low <= other <= high and other > 0]
        return fitting[int(self.rng.integers(len(fitting)))]

    def _between(self, span: tuple[float, float]) -> float:
        return float(self.rng.uniform(*span))
