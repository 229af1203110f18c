"""events.csv: the columns and rounding that are promised, and the way back."""

import csv
import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.errors import InputError
from voxlog.follow.event import FLAGS, KINDS, STATUSES, Event
from voxlog.log.record import rounded, seconds_to_ms
from voxlog.log.table import (
    COLUMNS,
    format_table,
    format_utc,
    parse_table,
    read_table,
    write_table,
)

HEAD = "n,t,t_end,utc,kind,phase,item,position,status,flags,heard,value,unit,p,note"
START = datetime(2026, 11, 25, 9, 30, 0, 500_000, tzinfo=UTC)
ITEM = Event(
    start=61.25,
    end=63.0,
    kind="item",
    phase="ground",
    item="7",
    position="operator",
    status="confirmed",
    flags=("off-limit", "late"),
    heard="one thousand, five hundred",
    value=1500.0,
    unit="psi",
    p=0.9996,
    note='corrected from "1400"',
)


def test_the_whole_table_as_text() -> None:
    note = Event(0.0, 0.0005, "note", heard="good morning", p=0.5)
    assert format_table([ITEM, note], START) == (
        f"{HEAD}\n"
        "1,61.250,63.000,2026-11-25T09:31:01.750Z,item,ground,7,operator,confirmed,"
        'off-limit;late,"one thousand, five hundred",1500,psi,1.000,"corrected from ""1400"""\n'
        "2,0.000,0.001,2026-11-25T09:30:00.500Z,note,,,,,,good morning,,,0.500,\n"
    )


def on_one_line(event: Event) -> Event:
    """The event as a table can hold it: the log's grid to the millisecond, white space single."""
    texts = ("phase", "item", "position", "heard", "unit", "note")
    single = {name: " ".join(getattr(event, name).split()) for name in texts}
    times = {name: seconds_to_ms(getattr(event, name)) / 1000 for name in ("start", "end")}
    return replace(rounded(event), **single, **times)


TEXTS = st.text("a é\r\n\t\0\"';,=+-@\u2028\U0001f600", max_size=8)
EVENTS = st.builds(
    Event,
    start=st.floats(0, 10_000),
    end=st.floats(10_000, 100_000),
    kind=st.sampled_from(KINDS),
    phase=TEXTS,
    item=TEXTS,
    position=TEXTS,
    status=st.none() | st.sampled_from(STATUSES),
    flags=st.sets(st.sampled_from(FLAGS)).map(tuple),
    heard=TEXTS,
    value=st.none() | st.floats(-1e9, 1e9),
    unit=TEXTS,
    p=st.floats(0, 1),
    note=TEXTS,
)


@given(st.lists(EVENTS, max_size=4))
def test_a_table_reads_back_as_the_events(rows: list[Event]) -> None:
    text = format_table(rows, START)
    back = parse_table(text)
    assert back == [on_one_line(event) for event in rows]
    assert format_table(back, START) == text
    assert text.count("\n") == len(rows) + 1


FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "'=1", "''@x"]


@pytest.mark.parametrize("text", [*FORMULAS, "  =1+1", "\t=1"])
def test_a_text_that_a_spreadsheet_would_run_is_inert_and_comes_back(text: str) -> None:
    """Outside source: OWASP, CSV Injection, names = + - @ (and tab and carriage return)."""
    table = format_table([replace(ITEM, heard=text, note=text, item=text)])
    cells = next(csv.DictReader(io.StringIO(table)))
    for name in ("heard", "note", "item"):
        assert cells[name] == "'" + text.strip()
    assert parse_table(table)[0].heard == text.strip()


@pytest.mark.parametrize("text", ["'cause it leaks", "1-2", "mask = on", "'"])
def test_other_texts_are_left_alone(text: str) -> None:
    cells = next(csv.DictReader(io.StringIO(format_table([replace(ITEM, heard=text)]))))
    assert cells["heard"] == text


def test_a_negative_value_stays_a_number() -> None:
    assert ",-12.5,degC," in format_table([replace(ITEM, value=-12.5, unit="degC")])


@pytest.mark.parametrize(
    ("start", "ms", "text"),
    [
        # RFC 3339 section 5.8, second and fourth example, as moments in UTC (from memory).
        (datetime.fromisoformat("1996-12-19T16:39:57-08:00"), 0, "1996-12-20T00:39:57.000Z"),
        (datetime.fromisoformat("1937-01-01T12:00:27.87+00:20"), 0, "1937-01-01T11:40:27.870Z"),
        (START, 999, "2026-11-25T09:30:01.499Z"),
        (datetime(2026, 12, 31, 23, 59, 59, tzinfo=UTC), 1000, "2027-01-01T00:00:00.000Z"),
        # Half a millisecond is rounded up, and carried.
        (datetime(2026, 12, 31, 23, 59, 59, 999_500, tzinfo=UTC), 0, "2027-01-01T00:00:00.000Z"),
        (datetime(2026, 1, 1, 0, 0, 0, 499, tzinfo=UTC), 0, "2026-01-01T00:00:00.000Z"),
        (
            datetime(2026, 6, 1, 2, 0, tzinfo=timezone(timedelta(hours=2))),
            5,
            "2026-06-01T00:00:00.005Z",
        ),
    ],
)
def test_utc(start: datetime, ms: int, text: str) -> None:
    assert format_utc(start, ms) == text


def test_a_start_without_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="zone"):
        format_table([ITEM], datetime(2026, 11, 25, 9, 30))


def test_pandas_reads_the_same_table() -> None:
    """Outside check: another reader of CSV."""
    frame = pd.read_csv(io.StringIO(format_table([ITEM], START)))
    assert list(frame.columns) == list(COLUMNS) == HEAD.split(",")
    row = frame.iloc[0]
    assert (row.t, row.t_end, row.value, row.heard) == (61.25, 63.0, 1500, ITEM.heard)
    assert pd.Timestamp(row.utc) == pd.Timestamp(START) + pd.Timedelta(seconds=61.25)


def test_a_table_saved_by_a_spreadsheet_is_read(tmp_path: Path) -> None:
    """A byte order mark, CR LF, columns moved, an empty row, an empty p."""
    lines = format_table([replace(ITEM, p=1.0)]).replace(",1.000,", ",,").splitlines()
    rows = [row[1:] + row[:1] for row in csv.reader(lines)]
    path = tmp_path / "truth.csv"
    text = "\ufeff" + "\r\n".join(
        ",".join(f'"{c.replace(chr(34), chr(34) * 2)}"' for c in r) for r in rows
    )
    path.write_bytes((text + "\r\n" + "," * 14 + "\r\n").encode())
    assert read_table(path) == [replace(ITEM, p=1.0)]


def test_write_and_read_a_file(tmp_path: Path) -> None:
    write_table(tmp_path / "events.csv", [ITEM, ITEM], START)
    assert read_table(tmp_path / "events.csv") == [rounded(ITEM)] * 2


ROW = dict(
    zip(
        COLUMNS,
        ["1", "1.0", "2.0", "", "item", "", "7", "", "confirmed", "", "", "", "", "1", ""],
        strict=True,
    )
)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"t": "one"}, "events.csv line 2: t 'one' is not a number"),
        ({"t": "-1"}, "events.csv line 2: t '-1' is not in 0"),
        ({"t": "nan"}, "events.csv line 2: t 'nan'"),
        ({"t_end": "inf"}, "t_end 'inf'"),
        ({"t_end": "0.5"}, "t_end '0.5' is not in 1 to inf"),
        ({"kind": "itm"}, "kind 'itm' is not one of item, callout"),
        ({"kind": ""}, "kind '' is not one of"),
        ({"status": "ok"}, "status 'ok' is not one of confirmed"),
        ({"flags": "late;soon"}, "flags 'soon' is not one of out-of-order"),
        ({"value": "12,5"}, "value '12,5' is not a number"),
        ({"p": "97"}, "p '97' is not in 0 to 1"),
    ],
)
def test_a_bad_cell_is_named_with_its_line(change: dict[str, str], words: str) -> None:
    buffer = io.StringIO()
    csv.writer(buffer).writerows([COLUMNS, list({**ROW, **change}.values())])
    with pytest.raises(InputError) as caught:
        parse_table(buffer.getvalue())
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the columns must be n,t,t_end"),
        (HEAD.replace(",", ";").encode(), "save it comma-separated"),
        (HEAD.replace(",note", "").encode(), "the columns must be"),
        (HEAD.encode() + b"\n1,2,3\n", "line 2: 3 cells instead of 15"),
        (HEAD.encode() + b"\n\xff\n", "not UTF-8"),
        (HEAD.encode() + b'\n"' + b"x" * 200_000, "line 2"),
        (None, "No such file"),
    ],
)
def test_what_is_no_table_is_refused_in_one_line(
    tmp_path: Path, data: bytes | None, words: str
) -> None:
    path = tmp_path / "truth.csv"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_table(path)
    assert words in str(caught.value)
    assert "truth.csv" in str(caught.value)
