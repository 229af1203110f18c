"""What a run sheet is: the frozen types that the recogniser and the follower read.

A `Sheet` is built by `voxlog.sheet.load`, which also checks what no single field can know (an
unknown position, a number used twice). Phrases are expanded on the way in: every phrase field
holds the plain texts that may be said, the fullest wording first. In YAML the keys are
kebab-case (`stand-in`), here the attributes are snake_case (`stand_in`).

Times are seconds. Values, limits and levels are in the unit that stands beside them.
"""

from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Any, Final, Literal, NamedTuple

from pydantic import (
    AfterValidator,
    Discriminator,
    Field,
    Tag,
    ValidationInfo,
    field_validator,
)

from voxlog.sheet.fields import Gas, Gate, Id, Number, Plain, Seconds, Text, WithItem, fault
from voxlog.sheet.marks import Marked
from voxlog.sheet.parts import (
    AskByVoice,
    Callout,
    Cue,
    Decompression,
    Elapsed,
    Item,
    Part,
    Quantity,
    Rate,
    Reading,
    ValueSpec,
)

__all__ = [
    "FORMAT_VERSION",
    "MAX_DEFINITIONS",
    "AskByVoice",
    "Callout",
    "Cue",
    "Decompression",
    "Elapsed",
    "Gas",
    "Item",
    "Phase",
    "Quantity",
    "Rate",
    "Reading",
    "Sheet",
    "Step",
    "ValueSpec",
    "Words",
]

# 1: the first format.
FORMAT_VERSION: Final = 1
MAX_DEFINITIONS: Final = 200


class Words(Part):
    """Radiotelephony words (ICAO Doc 9432, section 2.6); those of a sheet are added to these.

    "roger" and "wilco" are receipts: they never confirm a state or a value.
    """

    affirm: Plain = Field(default=("affirm", "affirmative"), description="Yes.")
    negative: Plain = Field(default=("negative", "unable"), description="No, or cannot.")
    receipt: Plain = Field(
        default=("roger", "copied", "wilco"), description="Heard, no more than that."
    )
    say_again: Plain = Field(default=("say again",), description="Repeat it.")
    correction: Plain = Field(
        default=("correction",), description="What follows replaces what was said."
    )
    disregard: Plain = Field(default=("disregard",), description="Take it as not said.")
    stand_by: Plain = Field(default=("stand by",), description="The answer comes later.")

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


class Phase(Part):
    """A stretch of the run with its steps in order."""

    id: Id = Field(description="Name of the phase.")
    title: Text = Field(description="Heading for people.")
    level: Number | None = Field(
        default=None, description="Altitude or depth of the phase, if steady."
    )
    time_limit: Seconds | None = Field(
        default=None, description="Longest time at that level, for the display of a live run."
    )
    rate: Rate | None = Field(
        default=None, description="How fast the level may change in this phase."
    )
    gate: Gate | None = Field(
        default=None,
        description="What must be closed before it: all, or item numbers and phases.",
    )
    steps: tuple[AnyStep, ...] = Field(default=(), description="Items and cues in order.")
    callouts: tuple[Callout, ...] = Field(default=(), description="Levels called in this phase.")
    elapsed: tuple[Elapsed, ...] = Field(default=(), description="Times called in this phase.")
    readings: tuple[Reading, ...] = Field(default=(), description="Readings of this phase only.")


class Step(NamedTuple):
    """A step and the phase it stands in."""

    phase: Phase
    step: Item | Cue


def _not_empty(phases: tuple[Phase, ...]) -> tuple[Phase, ...]:
    if not phases:
        raise fault("a sheet needs at least one phase; add it under `phases`")
    return phases


class Sheet(Marked):
    """A run sheet."""

    version: Literal[1] = Field(alias="voxlog-sheet", description="Version of this format.")
    id: Id = Field(description="Name of the sheet.")
    title: Text = Field(description="Title for people.")
    source: Text = Field(description="Where the procedure and its limits come from.")
    positions: dict[Id, Text] = Field(min_length=1, description="Who speaks: name and title.")
    asks: Id = Field(description="Position that reads the challenges.")
    inside: tuple[Id, ...] = Field(
        default=(), description="Positions inside the chamber, for the exposure record."
    )
    within: Seconds = Field(
        default=8, description="Seconds for an answer, unless an item says otherwise."
    )
    define: dict[Id, str] = Field(
        default={}, max_length=MAX_DEFINITIONS, description="Parts of phrases, used as <name>."
    )
    words: Words = Field(default=Words(), description="Radiotelephony words to add.")
    hold: Plain = Field(default=(), description="Words that stop the work.")
    resume: WithItem = Field(default=(), description="Words that take it up again at {item}.")
    ask_by_voice: AskByVoice | None = Field(
        default=None, description="Questions to the log while a run is recorded; none if left out."
    )
    readings: tuple[Reading, ...] = Field(default=(), description="Values spoken at any time.")
    phases: Annotated[tuple[Phase, ...], AfterValidator(_not_empty)] = Field(
        description="The run, in order."
    )

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

    @cached_property
    def readings_by_place(self) -> dict[tuple[str, str], Reading]:
        """Readings by phase ("" for those of the whole run) and id."""
        of_phases = {(phase.id, one.id): one for phase in self.phases for one in phase.readings}
        return {("", one.id): one for one in self.readings} | of_phases

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
