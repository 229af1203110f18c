"""Published times of useful consciousness, with who published what. For context, never a limit.

Publications disagree, so every row keeps its source and none is preferred. All are averages of
healthy people at rest who breathe air; they vary widely from person to person, shorten with work
and cold, and end before consciousness is lost: at their end a person no longer does what would
help.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

__all__ = ["PUBLISHED", "PublishedTime", "published_near"]

_TABLE: Final = "FAA AC 61-107B, table 1-1, as reprinted in a training manual"
_MANUAL: Final = "a twin-engined aircraft's pilot training manual"
_QUOTED: Final = "a pilots' question and answer page (aviation.stackexchange.com, 75489)"
_CLUB: Final = "a pilots' club page (apilotclub.com, tag TUC)"
_AIM: Final = "FAA Aeronautical Information Manual 8-1-2 a"


@dataclass(frozen=True, slots=True)
class PublishedTime:
    """One published range. altitude_ft: pressure altitude; low_s, high_s: seconds.

    after_decompression: whether it holds after a rapid decompression, not a usual ascent.
    """

    altitude_ft: float
    low_s: float
    high_s: float
    after_decompression: bool
    source: str


def _table_rows() -> Iterable[PublishedTime]:
    rows = (
        *((18_000, 1200, 1800, 600, 900), (22_000, 600, 600, 300, 300)),
        *((25_000, 180, 300, 90, 210), (28_000, 150, 180, 75, 90)),
        *((30_000, 60, 120, 30, 60), (35_000, 30, 60, 15, 30)),
        *((40_000, 15, 20, 7, 10), (43_000, 9, 12, 5, 5), (50_000, 9, 12, 5, 5)),
    )
    for altitude, low, high, low_after, high_after in rows:
        yield PublishedTime(altitude, low, high, after_decompression=False, source=_TABLE)
        yield PublishedTime(
            altitude, low_after, high_after, after_decompression=True, source=_TABLE
        )


PUBLISHED: Final = (
    *_table_rows(),
    PublishedTime(18_000, 1200, 1800, after_decompression=False, source=_AIM),
    PublishedTime(20_000, 300, 720, after_decompression=False, source=_AIM),
    PublishedTime(22_000, 300, 600, after_decompression=False, source=_MANUAL),
    PublishedTime(28_000, 180, 300, after_decompression=False, source=_QUOTED),
    PublishedTime(40_000, 9, 15, after_decompression=False, source=_CLUB),
)


def published_near(altitude_ft: float, *, after_decompression: bool) -> tuple[PublishedTime, ...]:
    """What is published for an altitude, or for the next ones below and above it; () under 18,000.

    Nothing is interpolated. Rows of several sources that disagree are all given, lowest altitude
    first.
    """
    rows = [row for row in PUBLISHED if row.after_decompression == after_decompression]
    altitudes = sorted({row.altitude_ft for row in rows})
    if altitude_ft < altitudes[0]:
        return ()
    below = max(each for each in altitudes if each <= altitude_ft)
    above = min((each for each in altitudes if each >= altitude_ft), default=below)
    return tuple(
        sorted(
            (row for row in rows if row.altitude_ft in (below, above)),
            key=lambda row: (row.altitude_ft, row.source != _TABLE),
        )
    )
