"""Readings against their limits: one small plot for each reading of the sheet that was heard."""

from dataclasses import dataclass

from voxlog.debrief.axis import Scale, Tick, placed_times, placed_values, value_ticks
from voxlog.debrief.profile_figure import Mark, clock_scale
from voxlog.debrief.run import Run
from voxlog.debrief.wording import spoken_limits
from voxlog.follow.event import Event
from voxlog.report.words import format_clock, format_value
from voxlog.sheet.model import Item, Reading

__all__ = ["ItemValue", "ReadingPlot", "item_values", "reading_plots"]

HEIGHT = 128
_TOP, _BOTTOM = 14, 92


@dataclass(frozen=True, slots=True)
class ReadingPlot:
    """A plot, and the rows for the table beside it.

    low, high: y of the limits, None where the sheet has none. inside: y and height of what is
    within the limits. rows: n of each row, and whether it is within.
    """

    name: str
    unit: str
    limits: str
    times: tuple[Tick, ...]
    values: tuple[Tick, ...]
    low: float | None
    high: float | None
    inside: tuple[float, float]
    marks: tuple[Mark, ...]
    line: tuple[tuple[float, float], ...]
    rows: tuple[tuple[int, bool], ...]

    @property
    def outside(self) -> int:
        return sum(not within for _, within in self.rows)


@dataclass(frozen=True, slots=True)
class ItemValue:
    """The value that answered an item. bar: 0 to 100 for limits and value on what can be said."""

    n: int
    item: Item
    value: str
    limits: str
    within: bool
    low: float
    high: float
    at: float


def reading_plots(run: Run) -> list[ReadingPlot]:
    """In the order of the sheet: its own readings, then those of its phases."""
    every = [*run.sheet.readings, *(one for phase in run.sheet.phases for one in phase.readings)]
    return [plot for reading in every if (plot := _plot(run, reading))]


def item_values(run: Run) -> list[ItemValue]:
    """In the order of the log."""
    items = {item.key: item for item in run.sheet.items if item.value is not None}
    return [
        _item_value(n, items[event.item], event)
        for n, event in enumerate(map(run.row_now, range(1, len(run.events) + 1)), 1)
        if event.kind == "item" and event.value is not None and event.item in items
    ]


def _plot(run: Run, reading: Reading) -> ReadingPlot | None:
    rows = [
        (n, event)
        for n, event in enumerate(map(run.row_now, range(1, len(run.events) + 1)), 1)
        if event.kind == "reading" and event.item == reading.id
    ]
    spoken = [(n, event, event.value) for n, event in rows if event.value is not None]
    if not spoken:
        return None
    limits = [limit for limit in (reading.min, reading.max) if limit is not None]
    values = [value for _, _, value in spoken]
    ticks = value_ticks(min([*values, *limits]), max([*values, *limits]), 4)
    along, up = clock_scale(run), Scale(ticks[0], ticks[-1], _BOTTOM, _TOP)
    top = up(reading.max) if reading.max is not None else float(_TOP)
    bottom = up(reading.min) if reading.min is not None else float(_BOTTOM)
    return ReadingPlot(
        name=reading.id,
        unit=reading.unit,
        limits=spoken_limits(reading),
        times=placed_times(along),
        values=placed_values(up, ticks),
        low=None if reading.min is None else up(reading.min),
        high=None if reading.max is None else up(reading.max),
        inside=(top, round(bottom - top, 1)),
        marks=tuple(_mark(along, up, reading, event, value) for _, event, value in spoken),
        line=tuple((along(event.start), up(value)) for _, event, value in spoken),
        rows=tuple((n, reading.is_within_limits(value)) for n, _, value in spoken),
    )


def _mark(along: Scale, up: Scale, reading: Reading, event: Event, value: float) -> Mark:
    within = reading.is_within_limits(value)
    shape = "outside" if not within else "unsure" if "uncertain" in event.flags else "within"
    words = "" if within else ", outside limits"
    title = f"{format_clock(event.start)}  {format_value(value, event.unit)}{words}"
    return Mark(along(event.start), up(value), shape, title)


def _item_value(n: int, item: Item, event: Event) -> ItemValue:
    assert item.value is not None
    assert event.value is not None
    spec = item.value
    low, high = spec.sayable
    scale = Scale(min(low, event.value), max(high, event.value, low + 1e-9), 0, 100)
    return ItemValue(
        n=n,
        item=item,
        value=format_value(event.value, event.unit),
        limits=spoken_limits(spec),
        within=spec.is_within_limits(event.value),
        low=scale(low if spec.min is None else spec.min),
        high=scale(high if spec.max is None else spec.max),
        at=scale(event.value),
    )
