"""The site file: what a chamber's technician sets once, so that nobody types it on the day.

Which position is patched to which channel, and the devices that were rehearsed with. Sheets say who
speaks, the site says on which line; one site file goes with all sheets of the same positions. It
also states the place's own rules about exposures.
"""

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field, PrivateAttr

from voxlog.sheet.fields import Id, Text, fault
from voxlog.sheet.model import Loc, Mark
from voxlog.sheet.parts import Part
from voxlog.sheet.site_rule import ExposureRule

__all__ = ["SITE_VERSION", "Site"]

SITE_VERSION = 1


def _channel(written: object) -> object:
    """Keys are text in YAML as it is read here."""
    if not (isinstance(written, str) and written.isdecimal() and 1 <= int(written) <= 256):
        raise fault(f"`{written!s:.20}` is not a channel; write its number, from 1")
    return int(written)


Channel = Annotated[int, BeforeValidator(_channel, json_schema_input_type=int)]


def _ids_differ(rules: tuple[ExposureRule, ...]) -> tuple[ExposureRule, ...]:
    ids = [rule.id for rule in rules]
    for name in ids:
        if ids.count(name) > 1:
            raise fault(f"two rules are called `{name}`; rename one of them")
    return rules


class Site(Part):
    """A site file."""

    version: Literal[1] = Field(alias="voxlog-site", description="Version of this format.")
    title: Text | None = Field(default=None, description="Name of the place for people.")
    channels: dict[Channel, Id] = Field(
        default={}, description="Position on each channel of the recording, from 1."
    )
    device: Text | None = Field(
        default=None, description="Input to record from, as `voxlog devices` lists it."
    )
    speak: Text | None = Field(
        default=None, description="Output for advice and answers; silence if left out."
    )
    model: Text | None = Field(
        default=None, description="Speech model; tiny.en-intercom if left out."
    )
    rules: Annotated[tuple[ExposureRule, ...], AfterValidator(_ids_differ)] = Field(
        default=(), description="Local rules about exposures, for `voxlog exposures`."
    )

    _file: str = PrivateAttr("")
    _marks: Mapping[Loc, Mark] = PrivateAttr(default_factory=dict)

    @property
    def file(self) -> str:
        """Name of the file that it was read from; "" if from none."""
        return self._file

    def mark_of(self, loc: Loc) -> Mark:
        """Where `loc` starts in that file; line 0 if not from a file."""
        return self._marks.get(loc, Mark(0, 0))

    def with_marks(self, file: str, marks: Mapping[Loc, Mark]) -> "Site":
        """The same, knowing where its parts stand in the file that it was read from."""
        site = self.model_copy()
        site._file, site._marks = file, marks  # noqa: SLF001  # its own, on a copy
        return site
