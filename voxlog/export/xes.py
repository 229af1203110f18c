"""XES, IEEE 1849: a log with one trace, for process mining. Pure.

Events carry the standard extensions' concept:name, lifecycle:transition, org:role and, where the
start of the run is known, time:timestamp: the start of the words. Everything else of a row is in
attributes without a prefix, named like the columns of events.csv. XML forbids control characters;
texts are one line, and what no XML carries is U+FFFD (text.one_line).
"""

from collections.abc import Iterator
from xml.sax.saxutils import quoteattr

from voxlog.export.run import ExportRun, Row, Written
from voxlog.export.text import one_line
from voxlog.log.record import format_decimal, thousandths

__all__ = ["to_xes"]

_EXTENSIONS = (
    ("Concept", "concept"),
    ("Lifecycle", "lifecycle"),
    ("Organizational", "org"),
    ("Time", "time"),
)


def to_xes(run: ExportRun) -> Written:
    """The order of the parts is the standard's: extensions, globals, classifiers, attributes."""
    note = (
        "XES has no time:timestamp without the run's start; give it with"
        " --clock 0=2026-11-25T09:30:00Z"
    )
    return Written("".join(_lines(run)).encode(), notes=() if run.start else (note,))


def _lines(run: ExportRun) -> Iterator[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>\n'
    yield '<log xes.version="1849.2016" xes.features="" xmlns="http://www.xes-standard.org/">\n'
    for name, prefix in _EXTENSIONS:
        uri = f"http://www.xes-standard.org/{prefix}.xesext"
        yield f'  <extension name="{name}" prefix="{prefix}" uri="{uri}"/>\n'
    yield f'  <global scope="trace">{_attribute("string", "concept:name", "run")}</global>\n'
    yield f'  <global scope="event">{_attribute("string", "concept:name", "row")}</global>\n'
    yield '  <classifier name="Row" keys="concept:name"/>\n'
    yield f"  {_attribute('string', 'concept:name', run.title)}\n"
    yield f"  {_attribute('string', 'sheet', run.sheet)}\n"
    yield f"  {_attribute('string', 'program', run.program)}\n"
    yield f"  {_attribute('string', 'review', run.review)}\n"
    yield f"  <trace>{_attribute('string', 'concept:name', run.name)}\n"
    for row in run.rows:
        yield f"    <event>{''.join(_attributes(run, row))}</event>\n"
    yield "  </trace>\n</log>\n"


def _attributes(run: ExportRun, row: Row) -> Iterator[str]:
    event = row.event
    name = f"{event.kind} {event.item}".strip()
    yield _attribute("string", "concept:name", name)
    yield _attribute("string", "lifecycle:transition", "complete")
    if event.position:
        yield _attribute("string", "org:role", event.position)
    moment = run.moment(row.start_ms)
    if moment is not None:
        yield _attribute("date", "time:timestamp", moment.isoformat(timespec="milliseconds"))
    yield _attribute("int", "n", str(row.n))
    yield _attribute("int", "t_ms", str(row.start_ms))
    yield _attribute("int", "t_end_ms", str(row.end_ms))
    texts = {
        "kind": event.kind,
        "phase": event.phase,
        "item": event.item,
        "status": event.status or "",
        "flags": ";".join(event.flags),
        "heard": event.heard,
        "unit": event.unit,
        "note": event.note,
        "review": row.review,
    }
    for key, text in texts.items():
        if text:
            yield _attribute("string", key, text)
    if event.value is not None:
        yield _attribute("float", "value", format_decimal(event.value))
    yield _attribute("float", "p", format_decimal(thousandths(event.p) / 1000))


def _attribute(kind: str, key: str, value: str) -> str:
    return f'<{kind} key="{key}" value={quoteattr(one_line(value))}/>'
