"""The time reference of a Broadcast Wave file: its `bext` chunk (EBU Tech 3285 version 2).

The standard states a date and a time of day but no zone. voxlog takes them as UTC unless the
caller names the zone that the recorder's clock was set to.
"""

import re
import struct
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from pathlib import Path

from voxlog.audio.riff import find_chunk, read_chunks

__all__ = ["Bext", "parse_bext", "read_bext"]

# EBU Tech 3285 v2, section 2.3: Description 256, Originator 32, OriginatorReference 32,
# OriginationDate 10, OriginationTime 8, TimeReference low and high word, Version.
_FIELDS = struct.Struct("<256s32s32s10s8sQH")
_NUMBERS_OF_DATE = re.compile(r"(\d{4})[-_:. ](\d{1,2})[-_:. ](\d{1,2})")
_NUMBERS_OF_TIME = re.compile(r"(\d{1,2})[-_:. ](\d{1,2})[-_:. ](\d{1,2})")
_DAY_SECONDS = 86_400


@dataclass(frozen=True)
class Bext:
    """What the `bext` chunk says. `date` and `time` are None where they are not a real one."""

    description: str
    originator: str
    originator_reference: str
    date: date | None
    time: time | None
    time_reference_samples: int
    """The first sample's place, counted in the file's own samples since midnight."""
    version: int

    def start(self, rate: int, zone: tzinfo = UTC) -> datetime | None:
        """When the first sample was taken, or None where the chunk does not say.

        OriginationDate + TimeReference / rate, so 547,208,000 at 16 kHz is 09:30:00.5. Recorders
        that keep no time code leave TimeReference 0, and a count of a day or more is no time of
        day; OriginationTime, whole seconds, then stands in.

        Args:
            rate: the file's own samples a second, which TimeReference counts in.
            zone: the zone of the recorder's clock; UTC when nobody says otherwise.
        """
        if self.date is None:
            return None
        midnight = datetime.combine(self.date, time(), zone)
        if 0 < self.time_reference_samples < rate * _DAY_SECONDS:
            seconds, samples = divmod(self.time_reference_samples, rate)
            return midnight + timedelta(seconds=seconds, microseconds=samples * 1_000_000 // rate)
        if self.time is not None:
            return datetime.combine(self.date, self.time, zone)
        return midnight if self.time_reference_samples == 0 else None


def read_bext(path: Path) -> Bext | None:
    """The `bext` chunk of a WAV, RF64 or BW64 file; None where there is none or it is cut off."""
    chunk = find_chunk(read_chunks(path), b"bext")
    if chunk is None:
        return None
    with path.open("rb") as file:
        file.seek(chunk.offset)
        return parse_bext(file.read(min(chunk.size, _FIELDS.size)))


def parse_bext(content: bytes) -> Bext | None:
    """Reads the fixed first part of the chunk; None where it is too short to hold it."""
    if len(content) < _FIELDS.size:
        return None
    description, originator, reference, day, hour, samples, version = _FIELDS.unpack_from(content)
    return Bext(
        description=_text(description),
        originator=_text(originator),
        originator_reference=_text(reference),
        date=_parse_date(_text(day)),
        time=_parse_time(_text(hour)),
        time_reference_samples=samples,
        version=version,
    )


def _text(field: bytes) -> str:
    # The standard says ASCII; recorders write UTF-8, and a stray byte must not lose the time.
    return field.split(b"\0", 1)[0].decode("utf-8", "replace").strip()


def _parse_date(text: str) -> date | None:
    numbers = _NUMBERS_OF_DATE.fullmatch(text)
    if numbers is None:
        return None
    year, month, day = map(int, numbers.groups())
    try:
        return date(year, month, day)
    except ValueError:  # for instance 2026-02-30
        return None


def _parse_time(text: str) -> time | None:
    numbers = _NUMBERS_OF_TIME.fullmatch(text)
    if numbers is None:
        return None
    hour, minute, second = map(int, numbers.groups())
    try:
        return time(hour, minute, second)
    except ValueError:
        return None
