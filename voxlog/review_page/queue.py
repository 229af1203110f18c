"""In which order findings are looked at: what matters most and is least certain comes first.

The rule, in three steps:

1. by what is at stake (report/words.py): answered negative, read back wrong or outside limits;
   skipped; not confirmed or not read back; out of order; late; optional items not heard; rows that
   voxlog is only unsure of. A row with several findings counts by its worst;
2. among equals, the row that is least likely to be right first, because it is there that a second
   pair of ears changes most;
3. then by time.

The order depends on the log alone: it does not change while decisions come in, so nothing jumps.
"""

from collections.abc import Collection, Iterable
from operator import itemgetter

from voxlog.follow.event import Event
from voxlog.report.words import severity

__all__ = ["review_order"]


def review_order(
    rows: Iterable[tuple[int, Event]], optional: Collection[str] = ()
) -> tuple[int, ...]:
    """The numbers of the rows with findings, first to be looked at first.

    rows: number and event; the numbers break ties. optional: numbers of the items that may be
    left out.
    """
    keyed = []
    for number, event in rows:
        worst = severity(event, is_optional=event.kind == "item" and event.item in optional)
        if worst is not None:
            keyed.append((worst.order, event.p, event.start, number))
    return tuple(map(itemgetter(3), sorted(keyed)))
