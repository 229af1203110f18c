"""A local rule about exposures, as a site file states it."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from voxlog.sheet.fields import Id, Number, Positive, Text, Unit, fault
from voxlog.sheet.parts import Part

__all__ = ["ExposureRule"]


class ExposureRule(Part):
    """What a place allows of exposures. voxlog states what breaks it; people decide what follows.

    No rule is built in: published ones disagree, so each stands here with its source.
    """

    id: Id = Field(description="Name of the rule.")
    source: Text = Field(description="Where the rule comes from.")
    positions: tuple[Id, ...] = Field(
        default=(),
        alias="for",
        description="Positions it is for, and `subject` for subjects; everybody if left out.",
    )
    at_least: Number | None = Field(
        default=None, description="Level from which a run counts; every exposure if left out."
    )
    unit: Unit | None = Field(default=None, description="Unit of that level, ft or msw.")
    min_interval_h: Positive | None = Field(
        default=None,
        description="Shortest time from the end of one to the start of the next, hours.",
    )
    max_a_week: Annotated[int, Field(strict=True, ge=1, le=1000)] | None = Field(
        default=None, description="Most exposures in any 7 days (168 hours)."
    )

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self.min_interval_h is None and self.max_a_week is None:
            raise fault("a rule needs `min-interval-h`, `max-a-week` or both; add one")
        if (self.at_least is None) != (self.unit is None):
            raise fault("`at-least` and `unit` only mean something together; give both")
        return self
