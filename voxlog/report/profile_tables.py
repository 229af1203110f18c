"""The profile of a run and what follows from it, as tables on the terminal, cautions included."""

import math
from collections.abc import Iterable, Iterator, Sequence

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from voxlog.profile.consciousness import PublishedTime
from voxlog.profile.estimate import Profile
from voxlog.profile.physiology import Dropped, OffOxygen, Physiology, Tension
from voxlog.profile.rate import LegRate
from voxlog.report.words import format_clock, format_value
from voxlog.sheet.model import Rate

__all__ = ["print_profile"]

_AGAINST = {"above": "faster", "below": "slower", "no limits": ""}


def print_profile(console: Console, profile: Profile, facts: Physiology) -> None:
    """Everything that is known; sections about which nothing is known are left out."""
    if not profile.points:
        console.print("No level was called or kept in this log, so there is no profile.")
        return
    sections: Iterable[tuple[str, Table]] = (
        ("Levels that were kept", _stay_table(profile)),
        ("Pressure and oxygen at these levels, mmHg unless stated", _level_table(profile, facts)),
        ("Rates between calls", _rate_table(profile, facts.rates)),
        (_above_heading(profile), _above_table(profile, facts)),
        ("Oxygen", _gas_table(facts)),
        ("Rapid decompression", _drop_table(profile, facts.decompressions)),
        ("On air at altitude, and what is published for it", _air_table(profile, facts)),
        ("Calls that were left out", _left_out_table(profile)),
    )
    for heading, table in sections:
        if table.row_count:
            console.print(Text(heading, style="bold"))
            console.print(table)
    for caution in facts.cautions:
        console.print(Text(f"* {caution}"))


def _table(*columns: str, words: Sequence[str] = ()) -> Table:
    """words: the columns that hold text and stand at the left; figures stand at the right."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for name in columns:
        is_text = name in words
        table.add_column(name, justify="left" if is_text else "right", no_wrap=not is_text)
    return table


def _between(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def _stay_table(profile: Profile) -> Table:
    table = _table("Level", "From", "To", "Time", "Between")
    for stay in profile.stays:
        table.add_row(
            format_value(stay.level, profile.unit),
            format_clock(stay.since),
            format_clock(stay.until),
            format_clock(stay.seconds),
            _between(*map(format_clock, stay.seconds_between)),
        )
    return table


def _level_table(profile: Profile, facts: Physiology) -> Table:
    table = _table(
        *("Level", "hPa", "mmHg", "psi", "ATA"),
        *("air PIO2", "PAO2", "oxygen PIO2", "PAO2"),
    )
    each = {level.level: level for level in facts.levels}
    for level in sorted(each):
        at = each[level]
        table.add_row(
            format_value(level, profile.unit),
            f"{at.pressure.hpa:.2f}",
            f"{at.pressure.mmhg:.1f}",
            f"{at.pressure.psi:.2f}",
            f"{at.pressure.atmospheres:.2f}",
            *_tensions(at.air),
            *_tensions(at.oxygen),
        )
    return table


def _tensions(tension: Tension) -> Iterator[str]:
    for each in (tension.inspired, tension.alveolar):
        yield "-" if each is None else f"{each:.0f}"


def _rate_table(profile: Profile, rates: Sequence[LegRate]) -> Table:
    unit = f"{profile.unit}/min"
    table = _table("At", "From", "To", unit, "Between", "Sheet's limits", "", words=("",))
    for each in rates:
        table.add_row(
            format_clock(each.leg.left),
            f"{each.leg.level:,.10g}",
            f"{each.leg.to:,.10g}",
            _figure(each.rate),
            _between(_figure(each.slowest), _figure(each.fastest)),
            _limits(each.limits),
            _AGAINST.get(each.against, each.against),
        )
    return table


def _figure(rate: float) -> str:
    """Two significant figures: more would be invented."""
    if math.isinf(rate):
        return "?"
    digits = 1 - math.floor(math.log10(rate)) if rate > 0 else 0
    return f"{round(rate, digits):,.10g}"


def _limits(rate: Rate | None) -> str:
    if rate is None:
        return "-"
    if rate.min is None:
        return f"at most {rate.max:,.10g}"
    return f"at least {rate.min:,.10g}" if rate.max is None else f"{rate.min:,g} to {rate.max:,g}"


def _above_heading(profile: Profile) -> str:
    return "Time at or below a depth" if profile.unit in ("msw", "fsw") else "Time at or above"


def _above_table(profile: Profile, facts: Physiology) -> Table:
    table = _table("Level", "Time", "Between")
    for each in facts.above:
        table.add_row(
            format_value(each.level, profile.unit),
            format_clock(each.seconds),
            _between(format_clock(each.shortest), format_clock(each.longest)),
        )
    return table


def _gas_table(facts: Physiology) -> Table:
    table = _table("", "From", "To", "Time", "Between", words=("",))
    if facts.pre_breathe is not None:
        before = facts.pre_breathe
        table.add_row(
            "oxygen before leaving",
            format_clock(before.since),
            format_clock(before.left),
            format_clock(before.seconds),
            _between(*map(format_clock, before.seconds_between)),
        )
    for span in facts.gas.spans if facts.gas else ():
        clocks = map(format_clock, (span.since, span.until, span.seconds))
        table.add_row(f"on {span.gas}", *clocks, "")
    for row in facts.gas.in_doubt if facts.gas else ():
        table.add_row(f"{row.item} not confirmed: gas in doubt", format_clock(row.start))
    return table


def _drop_table(profile: Profile, drops: Sequence[Dropped]) -> Table:
    table = _table("Cue", "At", "From", "To", "Called after", "Ideal", words=("Cue",))
    for drop in drops:
        table.add_row(
            drop.cue,
            format_clock(drop.cue_at),
            "?" if drop.before is None else format_value(round(drop.before), profile.unit),
            format_value(drop.to, profile.unit),
            "not heard" if drop.called_after is None else f"{drop.called_after:.1f} s",
            "-" if drop.ideal_s is None else f"{drop.ideal_s:.2g} s",
        )
    return table


def _air_table(profile: Profile, facts: Physiology) -> Table:
    table = _table("Level", "At", "Time", "Published", "For", "By", words=("By",))
    for off in facts.off_oxygen:
        _add_published(table, profile, off)
    for drop in facts.decompressions:
        for row in drop.published:
            level = format_value(drop.to, profile.unit)
            table.add_row(level, format_clock(drop.cue_at), "", *_published(row))
    return table


def _add_published(table: Table, profile: Profile, off: OffOxygen) -> None:
    cells = (
        format_value(off.level, profile.unit),
        format_clock(off.since),
        format_clock(off.until - off.since),
    )
    for row in off.published:
        table.add_row(*cells, *_published(row))
        cells = ("", "", "")


def _published(row: PublishedTime) -> tuple[str, str, str]:
    after = ", after a rapid decompression" if row.after_decompression else ""
    return _span(row.low_s, row.high_s), f"{row.altitude_ft:,.0f} ft", f"{row.source}{after}"


def _span(low_s: float, high_s: float) -> str:
    """15 to 30 s, 1 to 2 min, 5 min."""
    unit, each = ("s", 1) if low_s < 60 else ("min", 60)
    return f"{_between(f'{low_s / each:.3g}', f'{high_s / each:.3g}')} {unit}"


def _left_out_table(profile: Profile) -> Table:
    table = _table("At", "Level", "Why", words=("Why",))
    for call in profile.left_out:
        table.add_row(format_clock(call.start), format_value(call.level, profile.unit), call.reason)
    return table
