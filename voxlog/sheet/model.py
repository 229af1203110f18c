"""What a run sheet is: frozen types that the recogniser and the follower read.

A `Sheet` is built by `voxlog.sheet.load`, which also checks what no single field can know (an
unknown position, a number used twice). Phrases are expanded on the way in: every phrase field
holds the plain texts that may be said, the fullest wording first. In YAML the keys are
kebab-case (`stand-in`), here the attributes are snake_case (`stand_in`).

Times are seconds. Values, limits and levels are in the unit that stands beside them.
"""

import math
from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Any, Final, Literal, NamedTuple, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    PrivateAttr,
    StringConstraints,
    Tag,
    ValidationInfo,
    field_validator,
    model_validator,
)
from pydantic_core import PydanticCustomError

from voxlog.sheet.notation import NotationError, expand

__all__ = [
    "FORMAT_VERSION",
    "Callout",
    "Cue",
    "Elapsed",
    "Item",
    "Loc",
    "Phase",
    "Quantity",
    "Reading",
    "Sheet",
    "Step",
    "ValueSpec",
    "Words",
]

# 1: the first format.
FORMAT_VERSION: Final = 1

Quantity = Literal["altitude", "duration", "number"]
Loc = tuple[str | int, ...]
"""A place in the YAML text: keys and list indexes from the top, ("phases", 0, "steps", 3)."""

_QUANTITIES: Final[Mapping[str, Quantity]] = {
    "ft": "altitude",
    "s": "duration",
    "min": "duration",
}
_MAX_LEVELS: Final = 200


def quantity_of(unit: str) -> Quantity:
    """How a number with this unit is spoken."""
    return _QUANTITIES.get(unit, "number")


def _fault(message: str) -> PydanticCustomError:
    return PydanticCustomError("sheet", "{message}", {"message": message})


def _expand_all(phrases: object, info: ValidationInfo) -> tuple[str, ...]:
    """Expand a phrase or a list of phrases; all faulty ones are reported together."""
    written = [phrases] if isinstance(phrases, str) else phrases
    if not isinstance(written, list | tuple) or not written:
        raise _fault("should be a phrase or a list of phrases; write the words that are said")
    definitions = (info.context or {}).get("definitions")
    texts: list[str] = []
    faults: dict[int, str] = {}
    for index, phrase in enumerate(written):
        if not isinstance(phrase, str):
            faults[index] = f"{phrase!r:.40} is not a phrase; write it as words, in quotes"
            continue
        try:
            texts += expand(phrase, definitions)
        except NotationError as error:
            faults[index] = str(error)
    if faults:
        single = isinstance(phrases, str)
        raise PydanticCustomError(
            "phrases",
            "{message}",
            {"message": next(iter(faults.values())), "faults": None if single else faults},
        )
    return tuple(dict.fromkeys(texts))


def _slots_in(text: str) -> list[str]:
    return [word for word in text.split() if word.startswith("{")]


def _without_slot(texts: tuple[str, ...]) -> tuple[str, ...]:
    for text in texts:
        if _slots_in(text):
            raise _fault(f"`{text}` has a slot, but nothing here fills it; write words only")
    return texts


def _with_value(texts: tuple[str, ...]) -> tuple[str, ...]:
    for text in texts:
        if _slots_in(text) != ["{value}"]:
            raise _fault(f"`{text}` needs {{value}} once, where the number is said")
    return texts


def _with_item(texts: tuple[str, ...]) -> tuple[str, ...]:
    for text in texts:
        if _slots_in(text) != ["{item}"]:
            raise _fault(f"`{text}` needs {{item}} once, where the item's number is said")
    return texts


_Expanded = BeforeValidator(_expand_all, json_schema_input_type=str | list[str])
Plain = Annotated[tuple[str, ...], _Expanded, AfterValidator(_without_slot)]
WithValue = Annotated[tuple[str, ...], _Expanded, AfterValidator(_with_value)]
WithItem = Annotated[tuple[str, ...], _Expanded, AfterValidator(_with_item)]

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9-]{0,39}$")]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=300)]
Unit = Annotated[str, StringConstraints(pattern=r"^[^\s;,]{1,12}$")]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-1e9, le=1e9)]
Positive = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1e9)]
Seconds = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=86_400)]
ItemNumber = Annotated[int, Field(strict=True, ge=1, le=9999)]


def _kebab(name: str) -> str:
    return name.replace("_", "-")


class _Part(BaseModel):
    """Any part of a sheet: frozen, no unknown keys, kebab-case in YAML."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=_kebab, validate_by_name=True
    )


class _Spoken(_Part):
    """A number that is said: its unit, and the range that the recogniser listens for."""

    unit: Unit = Field(description="Unit of the number: ft and s and min have spoken forms.")
    low: Number | None = Field(None, description="Lowest value that can be said, in the unit.")
    high: Number | None = Field(None, description="Highest value that can be said, in the unit.")
    step: Positive = Field(1, description="Distance between values that can be said.")

    @property
    def quantity(self) -> Quantity:
        """How the number is spoken."""
        return quantity_of(self.unit)


class _Limited(_Spoken):
    """A spoken number with limits; outside them it is flagged off-limit."""

    min: Number | None = Field(None, description="Lower limit; below it is flagged off-limit.")
    max: Number | None = Field(None, description="Upper limit; above it is flagged off-limit.")
    say: WithValue = Field(("{value}",), description="How it is said; {value} is the number.")

    @model_validator(mode="after")
    def _ranges_fit(self) -> Self:
        if self.min is not None and self.max is not None and self.min > self.max:
            raise _fault(f"min {self.min:g} is above max {self.max:g}; exchange them")
        low, high = self.sayable
        if low > high:
            raise _fault(f"low {low:g} is above high {high:g}; exchange them")
        for name, limit in (("min", self.min), ("max", self.max)):
            if limit is not None and not low <= limit <= high:
                raise _fault(
                    f"{name} {limit:g} is outside low {low:g} to high {high:g}; "
                    "widen what can be said"
                )
        return self

    @property
    def sayable(self) -> tuple[float, float]:
        """Lowest and highest value that can be said.

        Where the sheet gives none: the limits, half their distance wider on both sides, so that
        a value off limits is still heard for what it is; never below 0 for limits above it.
        """
        lower = self.min if self.min is not None else self.max
        upper = self.max if self.max is not None else self.min
        if (lower is None or upper is None or lower >= upper) and None in (self.low, self.high):
            raise _fault(
                "what can be said has no end; give `low` and `high`, or a `min` below a `max`"
            )
        margin = 0.0 if lower is None or upper is None else (upper - lower) / 2
        low, high = self.low, self.high
        if low is None:
            assert lower is not None
            low = math.floor((lower - margin) / self.step) * self.step
            low = max(low, 0.0) if lower >= 0 else low
        if high is None:
            assert upper is not None
            high = math.ceil((upper + margin) / self.step) * self.step
        return low, high

    def is_within_limits(self, value: float) -> bool:
        """Whether `value` needs no off-limit flag."""
        above = self.min is None or value >= self.min
        return above and (self.max is None or value <= self.max)


class ValueSpec(_Limited):
    """The number that answers an item."""


class Item(_Part):
    """A numbered check: a challenge and the answer that satisfies it."""

    number: ItemNumber = Field(alias="item", description="Number of the item, ascending.")
    ask: Plain = Field(description="The challenge, as it is read out.")
    by: Id = Field(description="Position that answers.")
    confirm: Plain = Field((), description="Answers that satisfy.")
    deny: Plain = Field((), description="Answers that say the opposite.")
    value: ValueSpec | None = Field(None, description="The number in the answer.")
    stand_in: tuple[Id, ...] = Field((), description="Positions that may answer instead.")
    mandatory: bool = Field(True, strict=True, description="False: may be left out.")
    within: Seconds | None = Field(None, description="Seconds for the answer; else the sheet's.")
    group: Id | None = Field(None, description="Items of one group are done in any order.")

    @property
    def key(self) -> str:
        """The number as text, as the log's `item` column has it."""
        return str(self.number)

    @model_validator(mode="after")
    def _answers_differ(self) -> Self:
        for text in self.confirm:
            if text in self.deny:
                raise _fault(
                    f"`{text}` both confirms and denies item {self.number}; "
                    "keep it in one of the two"
                )
        return self


class Cue(_Part):
    """An instruction with an exact moment: announcement, countdown, go word."""

    id: Id = Field(alias="cue", description="Name of the cue.")
    by: Id = Field(description="Position that gives it.")
    say: Plain = Field((), description="Announcement before the count.")
    count: tuple[Text, ...] = Field((), description="Words of the countdown, in order.")
    go: Plain = Field(("now",), description="Word that is the moment.")

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
            raise _fault(str(error)) from None


class Callout(_Spoken):
    """A level spoken when it is reached, every so often on the way from one level to another."""

    id: Id = Field(description="Name of the callout.")
    by: Id = Field(description="Position that calls.")
    say: WithValue = Field(("{value}",), description="How it is said; {value} is the level.")
    every: Positive | None = Field(None, description="Distance between calls; none for one call.")
    first: Number = Field(alias="from", description="First level called.")
    last: Number = Field(alias="to", description="Last level called; below `from` on the way down.")
    read_back: Id | None = Field(None, description="Position that reads it back, if wanted.")
    within: Seconds | None = Field(None, description="Seconds for the read-back.")

    @model_validator(mode="after")
    def _levels_are_few(self) -> Self:
        if self.every is None and self.first != self.last:
            raise _fault("`every` is missing; say how far apart the calls are")
        if self.every and abs(self.last - self.first) / self.every >= _MAX_LEVELS:
            raise _fault(f"more than {_MAX_LEVELS} calls are due; make `every` larger")
        low, high = self.sayable
        if not low <= min(self.levels) <= max(self.levels) <= high:
            raise _fault(f"a level is outside low {low:g} to high {high:g}; widen these")
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


class Elapsed(_Part):
    """Time since a cue, called at an interval."""

    id: Id = Field(description="Name of the calls.")
    cue: Id = Field(description="The cue that starts the clock.")
    by: Id = Field(description="Position that calls.")
    say: WithValue = Field(("{value}",), description="How it is said; {value} is the time.")
    every: Seconds = Field(description="Seconds between calls.")
    until: Seconds = Field(description="Seconds after the cue of the last call.")
    tolerance: Seconds = Field(3, description="Seconds a call may be off before it is late.")

    @model_validator(mode="after")
    def _calls_are_few(self) -> Self:
        if self.until < self.every:
            raise _fault("`until` comes before the first call; make it `every` or more")
        if self.until / self.every > _MAX_LEVELS:
            raise _fault(f"more than {_MAX_LEVELS} calls are due; make `every` larger")
        return self

    @property
    def due(self) -> tuple[float, ...]:
        """Seconds after the cue at which a call is due."""
        return tuple(self.every * n for n in range(1, int(self.until / self.every + 1e-9) + 1))

    @property
    def unit(self) -> str:
        """Elapsed calls are always seconds in the log, however they are said."""
        return "s"


class Reading(_Limited):
    """A value with a unit that may be spoken at any time."""

    id: Id = Field(description="Name of the reading.")
    by: Id = Field(description="Position that reads it out.")


class Words(_Part):
    """Radiotelephony words (ICAO Doc 9432, section 2.6); those of a sheet are added to these.

    "roger" and "wilco" are receipts: they never confirm a state or a value.
    """

    affirm: Plain = Field(("affirm", "affirmative"), description="Yes.")
    negative: Plain = Field(("negative", "unable"), description="No, or cannot.")
    receipt: Plain = Field(("roger", "copied", "wilco"), description="Heard, no more than that.")
    say_again: Plain = Field(("say again",), description="Repeat it.")
    correction: Plain = Field(("correction",), description="What follows replaces what was said.")
    disregard: Plain = Field(("disregard",), description="Take it as not said.")
    stand_by: Plain = Field(("stand by",), description="The answer comes later.")

    @field_validator("*")
    @classmethod
    def _add_to_defaults(cls, texts: tuple[str, ...], info: ValidationInfo) -> tuple[str, ...]:
        assert info.field_name is not None
        defaults: tuple[str, ...] = cls.model_fields[info.field_name].default
        return tuple(dict.fromkeys((*defaults, *texts)))


def _step_kind(step: Any) -> str | None:
    """Which kind of step a mapping is meant to be; None is reported as neither."""
    if isinstance(step, Item | Cue):
        return "an item" if isinstance(step, Item) else "a cue"
    if isinstance(step, Mapping):
        if "item" in step or "number" in step:
            return "an item"
        if "cue" in step or "id" in step:
            return "a cue"
    return None


AnyStep = Annotated[
    Annotated[Item, Tag("an item")] | Annotated[Cue, Tag("a cue")],
    Discriminator(
        _step_kind,
        custom_error_type="sheet",
        custom_error_message="a step needs `item: NUMBER` or `cue: NAME`; add one of them",
    ),
]


class Phase(_Part):
    """A stretch of the run with its steps in order."""

    id: Id = Field(description="Name of the phase.")
    title: Text = Field(description="Heading for people.")
    level: Number | None = Field(None, description="Altitude or depth of the phase, if steady.")
    steps: tuple[AnyStep, ...] = Field((), description="Items and cues in order.")
    callouts: tuple[Callout, ...] = Field((), description="Levels called in this phase.")
    elapsed: tuple[Elapsed, ...] = Field((), description="Times called in this phase.")
    readings: tuple[Reading, ...] = Field((), description="Readings of this phase only.")


class Step(NamedTuple):
    """A step and the phase it stands in."""

    phase: Phase
    step: Item | Cue


class Sheet(_Part):
    """A run sheet."""

    version: Literal[1] = Field(alias="voxlog-sheet", description="Version of this format.")
    id: Id = Field(description="Name of the sheet.")
    title: Text = Field(description="Title for people.")
    source: Text = Field(description="Where the procedure and its limits come from.")
    positions: dict[Id, Text] = Field(min_length=1, description="Who speaks: name and title.")
    asks: Id = Field(description="Position that reads the challenges.")
    within: Seconds = Field(8, description="Seconds for an answer, unless an item says otherwise.")
    define: dict[Id, str] = Field({}, description="Parts of phrases, used as <name>.")
    words: Words = Field(default_factory=Words, description="Radiotelephony words to add.")
    hold: Plain = Field((), description="Words that stop the work.")
    resume: WithItem = Field((), description="Words that take it up again at {item}.")
    readings: tuple[Reading, ...] = Field((), description="Values spoken at any time.")
    phases: tuple[Phase, ...] = Field(description="The run, in order.")

    _lines: dict[Loc, int] = PrivateAttr(default_factory=dict)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Items and cues in order, each with its phase."""
        return tuple(Step(phase, step) for phase in self.phases for step in phase.steps)

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """All items in order."""
        return tuple(step for _, step in self.steps if isinstance(step, Item))

    @cached_property
    def _items_by_number(self) -> dict[int, Item]:
        return {item.number: item for item in self.items}

    def item(self, number: int) -> Item:
        """The item with this number; KeyError if there is none."""
        return self._items_by_number[number]

    def phase(self, phase_id: str) -> Phase:
        """The phase with this id; KeyError if there is none."""
        for phase in self.phases:
            if phase.id == phase_id:
                return phase
        raise KeyError(phase_id)

    def readings_in(self, phase_id: str) -> tuple[Reading, ...]:
        """What may be read out in a phase: the sheet's readings and the phase's own."""
        return self.readings + self.phase(phase_id).readings

    def seconds_to_answer(self, item: Item) -> float:
        """How long an answer may take to start after the end of the challenge."""
        return self.within if item.within is None else item.within

    def line_of(self, loc: Loc) -> int:
        """Line of the sheet's text where `loc` starts, from 1; 0 if not from a text."""
        return self._lines.get(loc, 0)
