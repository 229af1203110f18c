"""The table of a side-by-side run: its figures, and who wins which cell. Pure."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from rich import box
from rich.table import Table

from samples_synthetic.recording import Condition
from tests.bench.pool import Pooled

__all__ = ["COLUMNS", "Column", "Entry", "Timing", "contest_table", "lost_cells", "winners"]

SIGN = "▲"


@dataclass(frozen=True, slots=True)
class Timing:
    """A process from its start to its end, loading included. load: the machine's, at its start."""

    run: str
    seconds: float
    audio_seconds: float
    peak_mb: float
    load: float
    processor_seconds: float

    @classmethod
    def of(cls, kept: Mapping[str, Any]) -> "Timing":
        return cls(**{name: kept[name] for name in cls.__slots__})


@dataclass(frozen=True, slots=True)
class Entry:
    """What is known of one way to log under one condition.

    pooled: None where nothing was scored. timings: what its speed and memory are taken from.
    runs: so many of the runs are in it. is_whole: whether that is all; if not, the audio is
    not that of the others, and it competes in nothing.
    """

    title: str
    is_ours: bool
    pooled: Pooled | None
    hours: float
    timings: tuple[Timing, ...]
    runs: int = 1
    is_whole: bool = True

    @property
    def times_real_time(self) -> float | None:
        if not self.timings:
            return None
        audio = sum(each.audio_seconds for each in self.timings)
        return audio / sum(each.seconds for each in self.timings)

    @property
    def peak_mb(self) -> float | None:
        return max((each.peak_mb for each in self.timings), default=None)

    @property
    def loads(self) -> str:
        """The machine's load when it was timed, lowest and highest."""
        found = sorted({f"{each.load:.1f}" for each in self.timings}, key=float)
        return "-" if not found else found[0] if len(found) == 1 else f"{found[0]}-{found[-1]}"

    @property
    def false_an_hour(self) -> float | None:
        return self.pooled.findings.false / self.hours if self.pooled and self.hours else None


@dataclass(frozen=True, slots=True)
class Column:
    """A figure of the table. best: whether more or less is better."""

    name: str
    of: Callable[[Entry], float | None]
    best: Literal["more", "less"]
    shape: str

    def shown(self, entry: Entry) -> str:
        figure = self.of(entry)
        return "-" if figure is None else f"{figure:{self.shape}}"


def _pooled(of: Callable[[Pooled], float | None]) -> Callable[[Entry], float | None]:
    return lambda entry: of(entry.pooled) if entry.pooled else None


COLUMNS = (
    Column("Item\nstatus", _pooled(lambda p: p.item_status.share), "more", ".3f"),
    Column("Deviations\nfound", _pooled(lambda p: p.findings.recall), "more", ".3f"),
    Column("False\nan hour", lambda entry: entry.false_an_hour, "less", ".0f"),
    Column("Values", _pooled(lambda p: p.values.share), "more", ".3f"),
    Column("Times\nreal time", lambda entry: entry.times_real_time, "more", ".1f"),
    Column("Peak\nMB", lambda entry: entry.peak_mb, "less", ".0f"),
)


def winners(column: Column, entries: Sequence[Entry]) -> list[bool]:
    """Who has the best figure as it is shown; several where it is the same."""
    shown = [float(column.shown(e)) if _competes(column, e) else None for e in entries]
    known = [figure for figure in shown if figure is not None]
    if not known:
        return [False] * len(entries)
    best = max(known) if column.best == "more" else min(known)
    return [figure == best for figure in shown]


def _competes(column: Column, entry: Entry) -> bool:
    return entry.is_whole and column.of(entry) is not None


def lost_cells(entries: Sequence[Entry]) -> Iterable[str]:
    """A sentence for each figure that neither of our own rows is the best in."""
    for column in COLUMNS:
        won = [e for e, is_best in zip(entries, winners(column, entries), strict=True) if is_best]
        if won and not any(entry.is_ours for entry in won):
            ours = [e for e in entries if e.is_ours and _competes(column, e)]
            mine = ", ".join(f"{e.title} {column.shown(e)}" for e in ours) or "ours not measured"
            names = ", ".join(entry.title for entry in won)
            name = column.name.replace("\n", " ")
            yield f"{name}: {names} {column.shown(won[0])}; {mine}"


def contest_table(results: Mapping[Condition, Sequence[Entry]]) -> Table:
    """One table, a part for each condition."""
    table = Table(box=box.SIMPLE_HEAD, title="Side by side on the same audio")
    table.caption = f"{SIGN} best under that condition, of those with all runs; false: findings"
    table.add_column("", no_wrap=True)
    table.add_column("Runs", justify="right", no_wrap=True)
    for column in COLUMNS:
        table.add_column(column.name, justify="right", no_wrap=True)
    table.add_column("Load at\nstart", justify="right", no_wrap=True)
    for condition, entries in results.items():
        heading = condition if condition == "clean" else f"{condition} dB"
        table.add_row(f"[italic]{heading}[/italic]")
        marks = [winners(column, entries) for column in COLUMNS]
        for place, entry in enumerate(entries):
            cells = [
                f"[bold]{column.shown(entry)} {SIGN}[/bold]" if mark[place] else column.shown(entry)
                for column, mark in zip(COLUMNS, marks, strict=True)
            ]
            table.add_row(entry.title, f"{entry.runs}", *cells, entry.loads)
        table.add_section()
    return table
