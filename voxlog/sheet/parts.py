"""The parts of a run sheet: items, cues, callouts, times, readings.

Values, limits and levels are in the unit that stands beside them; times are seconds.
"""

import math
from collections.abc import Mapping
from typing import Annotated, Final, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from voxlog.sheet.fields import (
    BreathingGas,
    Gate,
    Id,
    ItemNumber,
    Number,
    Plain,
    Positive,
    Seconds,
    SomePlain,
    Text,
    Unit,
    WithItem,
    WithValue,
    fault,
)
from voxlog.sheet.notation import NotationError, expand

__all__ = [
    "AskByVoice",
    "Callout",
    "Cue",
    "Decompression",
    "Elapsed",
    "Item",
    "Part",
    "Quantity",
    "Rate",
    "Reading",
    "ValueSpec",
]

Quantity = Literal["altitude", "duration", "number"]

_QUANTITIES: Final[Mapping[str, Quantity]] = {
    "ft": "altitude",
    "s": "duration",
    "min": "duration",
}
_MAX_CALLS: Final = 200
_MAX_VALUES: Final = 10_000


def _kebab(name: str) -> str:
    return name.replace("_", "-")


class Part(BaseModel):
    """Any part of a sheet: frozen, no unknown keys, kebab-case in YAML."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=_kebab, validate_by_name=True
    )


class _Spoken(Part):
    """A number that is said: its unit, and the range that the recogniser listens for."""

    unit: Unit = Field(description="Unit of the number: ft and s and min have spoken forms.")
    low: Number | None = Field(
        default=None, description="Lowest value that can be said, in the unit."
    )
    high: Number | None = Field(
        default=None, description="Highest value that can be said, in the unit."
    )

    @property
    def quantity(self) -> Quantity:
        """How the number is spoken."""
        return _QUANTITIES.get(self.unit, "number")


def _checked_range(low: float, high: float, step: float) -> tuple[float, float]:
    if low > high:
        raise fault(f"low {low:g} is above high {high:g}; exchange them")
    if (high - low) / step > _MAX_VALUES:
        raise fault(f"more than {_MAX_VALUES} values can be said; make `step` larger")
    return low, high


class _Limited(_Spoken):
    """A spoken number with limits; outside them it is flagged off-limit."""

    step: Positive = Field(default=1, description="Distance between values that can be said.")
    min: Number | None = Field(
        default=None, description="Lower limit; below it is flagged off-limit."
    )
    max: Number | None = Field(
        default=None, description="Upper limit; above it is flagged off-limit."
    )
    say: WithValue = Field(
        default=("{value}",), description="How it is said; {value} is the number."
    )

    @model_validator(mode="after")
    def _ranges_fit(self) -> Self:
        if self.min is not None and self.max is not None and self.min > self.max:
            raise fault(f"min {self.min:g} is above max {self.max:g}; exchange them")
        if not self._has_ends():
            raise fault(
                "what can be said has no end; give `low` and `high`, or a `min` below a `max`"
            )
        low, high = _checked_range(*self.sayable, self.step)
        for name, limit in (("min", self.min), ("max", self.max)):
            if limit is not None and not low <= limit <= high:
                raise fault(
                    f"{name} {limit:g} is outside what can be said, {low:g} to {high:g}; "
                    "change `low` or `high`"
                )
        return self

    def _has_ends(self) -> bool:
        if self.low is not None and self.high is not None:
            return True
        return self.min is not None and self.max is not None and self.min < self.max

    @property
    def sayable(self) -> tuple[float, float]:
        """Lowest and highest value that can be said.

        Where the sheet gives none: the limits, half their distance wider on both sides, so that
        a value off limits is still heard for what it is; never below 0 for limits above it.
        """
        if self.low is not None and self.high is not None:
            return self.low, self.high
        assert self.min is not None
        assert self.max is not None
        margin = (self.max - self.min) / 2
        # Rounded first: 0.3 / 0.1 is 2.9999999999999996.
        low = math.floor(round((self.min - margin) / self.step, 6)) * self.step
        high = math.ceil(round((self.max + margin) / self.step, 6)) * self.step
        if self.min >= 0:
            low = max(low, 0.0)
        return (low if self.low is None else self.low, high if self.high is None else self.high)

    def is_within_limits(self, value: float) -> bool:
        """Whether `value` needs no off-limit flag."""
        above = self.min is None or value >= self.min
        return above and (self.max is None or value <= self.max)


class ValueSpec(_Limited):
    """The number that answers an item."""


class Item(Part):
    """A numbered check: a challenge and the answer that satisfies it."""

    number: ItemNumber = Field(alias="item", description="Number of the item, ascending.")
    ask: SomePlain = Field(description="The challenge, as it is read out.")
    by: Id = Field(description="Position that answers.")
    confirm: Plain = Field(default=(), description="Answers that satisfy.")
    deny: Plain = Field(default=(), description="Answers that say the opposite.")
    value: ValueSpec | None = Field(default=None, description="The number in the answer.")
    stand_in: tuple[Id, ...] = Field(default=(), description="Positions that may answer instead.")
    mandatory: bool = Field(default=True, strict=True, description="False: may be left out.")
    within: Seconds | None = Field(
        default=None, description="Seconds for the answer; else the sheet's."
    )
    group: Id | None = Field(default=None, description="Items of one group are done in any order.")
    gate: Gate | None = Field(
        default=None,
        description="What must be closed before it: all, or item numbers and phases.",
    )
    gas: BreathingGas | None = Field(
        default=None, description="What the subject breathes once this is confirmed."
    )
    departs: bool = Field(
        default=False, strict=True, description="True: the chamber leaves its level now."
    )

    @property
    def key(self) -> str:
        """The number as text, as the log's `item` column has it."""
        return str(self.number)

    @model_validator(mode="after")
    def _answers_differ(self) -> Self:
        for text in self.confirm:
            if text in self.deny:
                raise fault(
                    f"`{text}` both confirms and denies item {self.number}; "
                    "keep it in one of the two"
                )
        return self


class Decompression(Part):
    """A rapid decompression that a cue starts: where it ends, and what it flows through."""

    to: Number = Field(description="Level it ends at, in the unit of the callouts.")
    volume_m3: Positive | None = Field(
        default=None, alias="volume-m3", description="Volume that is decompressed, cubic metres."
    )
    orifice_m2: Annotated[float, Field(strict=True, gt=0, le=100)] | None = Field(
        default=None,
        alias="orifice-m2",
        description="Effective area it flows through, square metres.",
    )

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.volume_m3 is None) != (self.orifice_m2 is None):
            raise fault("`volume-m3` and `orifice-m2` only mean something together; give both")
        return self


class Cue(Part):
    """An instruction with an exact moment: announcement, countdown, go word."""

    id: Id = Field(alias="cue", description="Name of the cue.")
    by: Id = Field(description="Position that gives it.")
    say: Plain = Field(default=(), description="Announcement before the count.")
    count: tuple[Text, ...] = Field(default=(), description="Words of the countdown, in order.")
    go: SomePlain = Field(default=("now",), description="Word that is the moment.")
    gate: Gate | None = Field(
        default=None,
        description="What must be closed before it: all, or item numbers and phases.",
    )
    gas: BreathingGas | None = Field(
        default=None, description="What the subject breathes from this cue on."
    )
    departs: bool = Field(
        default=False, strict=True, description="True: the chamber leaves its level now."
    )
    decompression: Decompression | None = Field(
        default=None, description="The rapid decompression that starts at this cue."
    )

    @property
    def key(self) -> str:
        """The id, as the log's `item` column has it."""
        return self.id

    @field_validator("count")
    @classmethod
    def _count_is_words(cls, count: tuple[str, ...]) -> tuple[str, ...]:
        try:
            return tuple(text for word in count for text in expand(word)[:1])
        except NotationError as error:
            raise fault(str(error)) from None


class Rate(Part):
    """Limits of the rate of change of level, up or down alike."""

    min: Positive | None = Field(default=None, description="Slowest, in the level's unit a minute.")
    max: Positive | None = Field(default=None, description="Fastest, in the level's unit a minute.")

    @model_validator(mode="after")
    def _limits_fit(self) -> Self:
        if self.min is None and self.max is None:
            raise fault("a rate needs `min`, `max` or both; add one")
        if self.min is not None and self.max is not None and self.min > self.max:
            raise fault(f"min {self.min:g} is above max {self.max:g}; exchange them")
        return self


class Callout(_Spoken):
    """A level spoken when it is reached, every so often on the way from one level to another."""

    id: Id = Field(description="Name of the callout.")
    by: Id = Field(description="Position that calls.")
    say: WithValue = Field(
        default=("{value}",), description="How it is said; {value} is the level."
    )
    every: Positive | None = Field(
        default=None, description="Distance between calls; none for one call."
    )
    step: Positive = Field(
        default_factory=lambda earlier: earlier.get("every") or 1.0,
        description="Distance between levels that can be said; if not given, `every`.",
    )
    first: Number = Field(alias="from", description="First level called.")
    last: Number = Field(alias="to", description="Last level called; below `from` on the way down.")
    read_back: Id | None = Field(
        default=None, description="Position that reads it back, if wanted."
    )
    within: Seconds | None = Field(default=None, description="Seconds for the read-back.")

    @model_validator(mode="after")
    def _levels_are_few(self) -> Self:
        if self.every is None and self.first != self.last:
            raise fault("`every` is missing; say how far apart the calls are")
        if self.every and abs(self.last - self.first) / self.every >= _MAX_CALLS:
            raise fault(f"more than {_MAX_CALLS} calls are due; make `every` larger")
        low, high = _checked_range(*self.sayable, self.step)
        if not low <= min(self.levels) <= max(self.levels) <= high:
            raise fault(f"a level is outside low {low:g} to high {high:g}; widen these")
        return self

    @property
    def levels(self) -> tuple[float, ...]:
        """The levels due, in the order in which they are passed."""
        if self.every is None:
            return (self.first,)
        towards = math.copysign(self.every, self.last - self.first)
        count = int(abs(self.last - self.first) / self.every + 1e-9) + 1
        return tuple(self.first + n * towards for n in range(count))

    @property
    def sayable(self) -> tuple[float, float]:
        """Lowest and highest level that can be said; by default one call beyond those due."""
        margin = self.every or 0.0
        low, high = min(self.first, self.last) - margin, max(self.first, self.last) + margin
        if min(self.first, self.last) >= 0:
            low = max(low, 0.0)
        return (low if self.low is None else self.low, high if self.high is None else self.high)


class Elapsed(Part):
    """Time since a cue, called at an interval."""

    id: Id = Field(description="Name of the calls.")
    cue: Id = Field(description="The cue that starts the clock.")
    by: Id = Field(description="Position that calls.")
    say: WithValue = Field(default=("{value}",), description="How it is said; {value} is the time.")
    every: Seconds = Field(description="Seconds between calls.")
    until: Seconds = Field(description="Seconds after the cue of the last call.")
    tolerance: Seconds = Field(
        default=3, description="Seconds a call may be off before it is late."
    )
    step: Seconds = Field(default=5, description="Seconds between times that can be said.")

    @model_validator(mode="after")
    def _calls_are_few(self) -> Self:
        if self.until < self.every:
            raise fault("`until` comes before the first call; make it `every` or more")
        if self.until / self.every > _MAX_CALLS:
            raise fault(f"more than {_MAX_CALLS} calls are due; make `every` larger")
        return self

    @property
    def due(self) -> tuple[float, ...]:
        """Seconds after the cue at which a call is due."""
        return tuple(self.every * n for n in range(1, int(self.until / self.every + 1e-9) + 1))

    @property
    def unit(self) -> str:
        """Elapsed calls are always seconds in the log, however they are said."""
        return "s"

    @property
    def quantity(self) -> Quantity:
        """How the time is spoken."""
        return "duration"

    @property
    def sayable(self) -> tuple[float, float]:
        """Shortest and longest time that can be said; one call beyond the last one due."""
        return self.step, self.until + self.every


class Reading(_Limited):
    """A value with a unit that may be spoken at any time."""

    id: Id = Field(description="Name of the reading.")
    by: Id = Field(description="Position that reads it out.")


class AskByVoice(Part):
    """Questions that the crew may put to the log while the run goes; each follows the call-word."""

    call_word: SomePlain = Field(description="Word that nobody says otherwise, like logbook.")
    open_items: SomePlain = Field(
        default=("open items", "what is open"), description="Asks what is not closed."
    )
    time_at_level: SomePlain = Field(
        default=("time at altitude", "time at depth", "time at level"),
        description="Asks how long the run has been at its level.",
    )
    last_reading: SomePlain = Field(
        default=("last reading of", "last"),
        description="Asks for the last reading; its id follows, hyphens being spaces.",
    )
    mark: SomePlain = Field(
        default=("mark",), description="Drops a note; what is said next is its text."
    )
    correction: WithItem = Field(
        default=("correction item {item}",),
        description="Notes that the log has {item} wrong.",
    )
