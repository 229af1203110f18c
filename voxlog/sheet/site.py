"""The site file: what a chamber's technician sets once, so that nobody types it on the day.

Which position is patched to which channel, and the devices that were rehearsed with. Sheets say who
speaks, the site says on which line; one site file goes with all sheets of the same positions. It
also states the place's own rules about exposures.
"""

from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from voxlog.sheet.fields import Id, Text, fault
from voxlog.sheet.marks import Marked
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


class Site(Marked):
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
