"""Runs to export: texts that formats trip over, and more rows than any run has."""

import random
from datetime import datetime, timedelta, timezone

from voxlog.export.run import ExportRun, Row
from voxlog.follow.event import KINDS, Event

START = datetime(2026, 11, 25, 10, 30, 0, 500_000, tzinfo=timezone(timedelta(hours=1)))

# In the log, and as one line of text: white space and control characters are one space, and what no
# text should hold is U+FFFD.
TEXTS = {
    "plain words": "plain words",
    "": "",
    "n/a": "n/a",
    "a \"quoted\" and 'quoted' word": "a \"quoted\" and 'quoted' word",
    "line\nbreak\r\nand\ttab  twice": "line break and tab twice",
    "one --> two\n\n00:00.000 --> 00:01.000": "one --> two 00:00.000 --> 00:01.000",
    "<b>bold</b> &amp; ]]> <c.x>": "<b>bold</b> &amp; ]]> <c.x>",
    "nul\x00bell\x07esc\x1bdel\x7fnel\x85tal\x14and\x15end": "nul bell esc del nel tal and end",
    "\u00e9 \u03a9 \u6771\u4eac \U0001f9ea": "\u00e9 \u03a9 \u6771\u4eac \U0001f9ea",
    "e\u0301 \u202eright to left\u202c": "e\u0301 \u202eright to left\u202c",
    "separators \u2028 and \u2029 here": "separators and here",
    "no characters \ufffe \uffff": "no characters \ufffd \ufffd",
    "=1+1": "=1+1",
    "'=quoted": "'=quoted",
    "@at, comma; semicolon | bar # hash \\ back": "@at, comma; semicolon | bar # hash \\ back",
    "NOTE WEBVTT STYLE": "NOTE WEBVTT STYLE",
}


def hard_run(start: datetime | None = START) -> ExportRun:
    """A row for every text and every kind; times that are not whole, overlap and have no length."""
    rows = [
        Row(
            n=n,
            start_ms=n * 1001 - 500,
            end_ms=n * 1001 - 500 + (0, 1, 999, 2500)[n % 4],
            event=Event(
                0.0,
                0.0,
                KINDS[n % len(KINDS)],
                phase="ground",
                item=str(n),
                position="attendant" if n % 2 else "",
                status=(None, "confirmed", "negative", "skipped", "unconfirmed")[n % 5],
                flags=((), ("late",), ("off-limit", "uncertain"))[n % 3],
                heard=text,
                value=(None, 18000.0, -2.25)[n % 3],
                unit=("", "ft", "%")[n % 3],
                p=(1.0, 0.123, 0.0)[n % 3],
                note=text,
            ),
            review=("", "open", "agreed", "disputed", "deferred")[n % 5],
        )
        for n, text in enumerate(TEXTS, 1)
    ]
    return run_of(rows, start)


def random_run(count: int = 500) -> ExportRun:
    """Texts of any characters that a log can hold, mostly those that mean something somewhere."""
    draw = random.Random(20)
    odd = [*map(chr, range(0x250)), *"\u200b\u2028\u202e\ufeff\ufffe\U0001f9ea\U0010ffff"]
    pool = [*odd, *("\"'<>&-->\t\n,;=+@\\n/a#" * 20)]

    def text() -> str:
        if draw.random() < 0.2:
            anything = (draw.randrange(0x110000) for _ in range(draw.randrange(12)))
            return "".join(chr(code) for code in anything if not 0xD800 <= code <= 0xDFFF)
        return "".join(draw.choices(pool, k=draw.randrange(25)))

    rows = [
        Row(n, n * 5000, n * 5000 + 2000, Event(0, 0, "note", position=text(), heard=text()))
        for n in range(1, count + 1)
    ]
    return run_of(rows)


def long_run(count: int = 100_000) -> ExportRun:
    """Rows 37 ms apart, of 0 to 4 s."""
    words = list(TEXTS)
    rows = [
        Row(
            n,
            n * 37,
            n * 37 + n % 4001,
            Event(0.0, 0.0, KINDS[n % 7], item=str(n % 97), heard=words[n % len(words)]),
        )
        for n in range(1, count + 1)
    ]
    return run_of(rows)


def run_of(rows: list[Row], start: datetime | None = START) -> ExportRun:
    return ExportRun(
        name="s-07",
        sheet="tiny",
        title='Two "checks" --> & <more>',
        program="voxlog 0.1.0",
        review="not reviewed",
        rows=tuple(rows),
        start=start,
    )


def to_ms(seconds: float) -> int:
    """A reader's seconds; they must lie on the millisecond but for what floats do to them."""
    ms = round(seconds * 1000)
    assert abs(seconds * 1000 - ms) < 0.01
    return ms
