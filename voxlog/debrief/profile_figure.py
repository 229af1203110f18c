"""The figure of the run: altitude against time, with what was called, given, held and found on it.

Only places and texts are worked out here; templates/profile.svg draws them. Lengths are px of a
drawing 760 wide.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from voxlog.debrief.altitude import Altitude
from voxlog.debrief.axis import Scale, Tick, placed_times, placed_values, stacked, value_ticks
from voxlog.debrief.findings import Finding
from voxlog.debrief.holds import Hold
from voxlog.debrief.run import Run
from voxlog.debrief.wording import name_of
from voxlog.follow.event import Event
from voxlog.profile.ambient import is_depth
from voxlog.report.words import describe_findings, format_clock

__all__ = [
    "LEFT",
    "RIGHT",
    "WIDTH",
    "Band",
    "Label",
    "Lanes",
    "Mark",
    "Profile",
    "clock_scale",
    "profile",
]

WIDTH = 760
LEFT = 66
RIGHT = 738
_PLOT_HEIGHT = 210
_LINE = 19
_LETTER = 7.1
"""Mean width of a letter at the size of the labels."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A sign at a place; shape: a word that the template knows. title: shown when pointed at."""

    x: float
    y: float
    shape: str
    title: str


@dataclass(frozen=True, slots=True)
class Label:
    """A text in a box; line: from the bottom of its lane. link: "" or the id of what it is of."""

    x: float
    line: int
    text: str
    width: float
    shape: str
    link: str
    title: str


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of time; text: what fits into it."""

    x: float
    width: float
    text: str
    title: str


class Lanes(NamedTuple):
    """y of the bottom of each lane of signs."""

    findings: float
    cues: float
    phases: float
    items: float
    elapsed: float


@dataclass(frozen=True, slots=True)
class Profile:
    """Everything drawn, from top to bottom: findings, cues, plot, phases, items, times called.

    curve, band: paths of the level's estimate and of what is around it. stays: x from and to, y.
    """

    height: float
    top: float
    bottom: float
    lanes: Lanes
    unit: str
    times: tuple[Tick, ...]
    levels: tuple[Tick, ...]
    curve: str
    band: str
    stays: tuple[tuple[float, float, float], ...]
    calls: tuple[Mark, ...]
    cues: tuple[Label, ...]
    holds: tuple[Band, ...]
    phases: tuple[Band, ...]
    findings: tuple[Label, ...]
    items: tuple[Mark, ...]
    elapsed: tuple[Mark, ...]


def clock_scale(run: Run) -> Scale:
    """The axis of time that all figures share."""
    return Scale(0, run.seconds, LEFT, RIGHT)


def profile(
    run: Run, altitude: Altitude | None, findings: Sequence[Finding], holds: Sequence[Hold]
) -> Profile:
    """The figure. Without levels on the sheet its plot is low and has no curve."""
    along = clock_scale(run)
    tags = _finding_labels(along, findings)
    cues = _cue_labels(run, along)
    top = 18.0 + _lane_height(tags) + _lane_height(cues)
    bottom = top + (_PLOT_HEIGHT if altitude else 24)
    levels = _levels(run, altitude)
    up = Scale(levels[0], levels[-1], *_ends(altitude, top, bottom))
    lanes = Lanes(10.0 + _lane_height(tags), top - 2, bottom + 44, bottom + 76, bottom + 102)
    calls = altitude.calls if altitude else ()
    elapsed = tuple(
        Mark(along(event.start), 0, _call_shape(event), _title(run, event))
        for n, event in enumerate(run.events, 1)
        if event.kind == "callout" and n not in calls
    )
    curve, band = _curve(altitude, along, up)
    return Profile(
        height=(lanes.elapsed if elapsed else lanes.items) + 14,
        top=top,
        bottom=bottom,
        lanes=lanes,
        unit=altitude.unit if altitude else "",
        times=placed_times(along),
        levels=placed_values(up, levels) if altitude else (),
        curve=curve,
        band=band,
        stays=_stays(altitude, along, up),
        calls=tuple(_call(run, n, along, up) for n in calls),
        cues=cues,
        holds=tuple(_hold(run, hold, along) for hold in holds),
        phases=_phases(run, along),
        findings=tags,
        items=tuple(_item_mark(run, event, along) for event in _rows(run, "item")),
        elapsed=elapsed,
    )


def _lane_height(labels: Sequence[Label]) -> float:
    return (1 + max((label.line for label in labels), default=-1)) * _LINE + (6 if labels else 0)


def _levels(run: Run, altitude: Altitude | None) -> list[float]:
    """Ticks of the levels, from 0; also where the plot has none, so that there is a scale."""
    if altitude is None:
        return [0.0, 1.0]
    reached = [point.level for point in altitude.estimate.points]
    called = [run.row_now(n).value or 0.0 for n in altitude.calls]
    every = [0.0, *reached, *called]
    return value_ticks(min(every), max(*every, 1.0), 6)


def _curve(altitude: Altitude | None, along: Scale, up: Scale) -> tuple[str, str]:
    """The line of the best estimate, and the outline of the band around it, as paths."""
    points = altitude.estimate.points if altitude else ()
    if not points:
        return "", ""
    line = [(along(point.t), up(point.level)) for point in points]
    edges = (min(up.first, up.last) - 6, max(up.first, up.last))
    over = [(along(point.t), _held(up(point.high), edges)) for point in points]
    under = [(along(point.t), _held(up(point.low), edges)) for point in reversed(points)]
    return _path(line), f"{_path([*over, *under])}Z"


def _ends(altitude: Altitude | None, top: float, bottom: float) -> tuple[float, float]:
    """Where the lowest and the highest level stand: depths grow downwards."""
    return (top, bottom) if altitude and is_depth(altitude.unit) else (bottom, top)


def _held(y: float, edges: tuple[float, float]) -> float:
    """Kept within the plot, but for a little above it."""
    return min(max(y, edges[0]), edges[1])


def _path(places: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in places)


def _stays(
    altitude: Altitude | None, along: Scale, up: Scale
) -> tuple[tuple[float, float, float], ...]:
    stays = altitude.estimate.stays if altitude else ()
    return tuple((along(stay.since), along(stay.until), up(stay.level)) for stay in stays)


def _rows(run: Run, kind: str) -> list[Event]:
    return [event for event in run.events if event.kind == kind]


def _title(run: Run, event: Event) -> str:
    """What a pointer on the row shows: time, name, how it went."""
    went = describe_findings(event) or event.status or ""
    return f"{format_clock(event.start)}  {name_of(run.sheet, event)}{went and ': ' + went}"


def _call(run: Run, n: int, along: Scale, up: Scale) -> Mark:
    event = run.row_now(n)
    return Mark(along(event.start), up(event.value or 0), _call_shape(event), _title(run, event))


def _call_shape(event: Event) -> str:
    if event.status == "skipped":
        return "missed"
    if "misread" in event.flags or "late" in event.flags:
        return "wrong"
    return "unsure" if "uncertain" in event.flags or event.status == "unconfirmed" else "called"


_ITEM_SHAPES = {
    "confirmed": "confirmed",
    "negative": "negative",
    "unconfirmed": "unconfirmed",
    "skipped": "skipped",
    None: "confirmed",
}


def _item_mark(run: Run, event: Event, along: Scale) -> Mark:
    return Mark(along(event.start), 0, _ITEM_SHAPES[event.status], _title(run, event))


def _cue_labels(run: Run, along: Scale) -> tuple[Label, ...]:
    rows = [row for row in _rows(run, "cue") if row.status != "skipped"]
    return _placed([(along(row.start), row.item, "cue", "", _title(run, row)) for row in rows])


def _finding_labels(along: Scale, findings: Sequence[Finding]) -> tuple[Label, ...]:
    return _placed(
        [
            (
                along(one.event.start),
                f"{one.number} {one.mark}",
                f"{one.weight} decided" if one.is_decided else one.weight,
                f"finding-{one.number}",
                f"{one.clock}  finding {one.number}: {one.name}: {one.words}",
            )
            for one in sorted(findings, key=lambda one: one.event.start)
        ]
    )


def _placed(texts: list[tuple[float, str, str, str, str]]) -> tuple[Label, ...]:
    """Labels centred on their moment, kept inside the figure and clear of each other."""
    widths = [len(text) * _LETTER + 10 for _, text, _, _, _ in texts]
    lefts = [
        round(min(max(x - width / 2, 2), WIDTH - width - 2), 1)
        for (x, *_), width in zip(texts, widths, strict=True)
    ]
    lines = stacked([(left, left + width + 3) for left, width in zip(lefts, widths, strict=True)])
    return tuple(
        Label(x, line, text, round(width, 1), shape, link, title)
        for (x, text, shape, link, title), width, line in zip(texts, widths, lines, strict=True)
    )


def _hold(run: Run, hold: Hold, along: Scale) -> Band:
    end = hold.end if hold.end is not None else run.seconds
    start, last = along(hold.start), along(end)
    width = round(max(last - start, 2), 1)
    until = format_clock(end) if hold.end is not None else "no resume heard"
    title = f"{format_clock(hold.start)}  hold, until {until}"
    return Band(start, width, "hold" if width > 30 else "", title)


def _phases(run: Run, along: Scale) -> tuple[Band, ...]:
    """From each phase's first row to the next one's; what fits of its title, or its number."""
    starts: dict[str, float] = {}
    for event in run.events:
        is_step = event.kind in ("item", "cue") and event.status != "skipped"
        if is_step and "out-of-order" not in event.flags:
            starts.setdefault(event.phase, event.start)
    order = [phase for phase in run.sheet.phases if phase.id in starts]
    bands = []
    for place, phase in enumerate(order):
        left = along(starts[phase.id])
        later = [along(starts[one.id]) for one in order[place + 1 :]]
        width = round(max(min([*later, float(RIGHT)]) - left, 0.0), 1)
        number = run.sheet.phases.index(phase) + 1
        text = _fitting(phase.title, number, width)
        bands.append(Band(left, width, text, f"{number}  {phase.title}"))
    return tuple(bands)


def _fitting(title: str, number: int, width: float) -> str:
    letters = int((width - 6) / _LETTER)
    full = f"{number} {title}"
    if len(full) <= letters:
        return full
    if letters >= 7:
        return f"{full[: letters - 1].rstrip()}…"
    return str(number) if letters >= len(str(number)) else ""
