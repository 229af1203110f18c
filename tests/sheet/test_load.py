"""A right sheet is read; everything wrong with another is said at once, each with its place."""

import os
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.errors import InputError
from voxlog.sheet.load import MAX_BYTES, load_sheet, read_sheet
from voxlog.sheet.marks import Mark
from voxlog.sheet.problem import SheetError


def broken(text: str, old: str, new: str) -> str:
    assert text.count(old) == 1, f"{old!r} must stand once in the small sheet"
    return text.replace(old, new)


def test_a_right_sheet_is_read_with_its_places(small_sheet: str) -> None:
    sheet = read_sheet(small_sheet, "small.yaml")
    assert [item.number for item in sheet.items] == [1, 2, 4, 5, 6]
    assert sheet.item(4).confirm == ("door shut", "door closed")
    assert sheet.file == "small.yaml"
    assert sheet.mark_of(("phases", 0, "steps", 1, "by")) == Mark(25, 13)


def test_windows_line_ends_and_a_byte_order_mark_change_nothing(
    small_sheet: str, tmp_path: Path
) -> None:
    path = tmp_path / "small.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + small_sheet.replace("\n", "\r\n").encode())
    assert load_sheet(path).model_dump() == read_sheet(small_sheet).model_dump()


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        # keys
        ("asks: conductor", "ask: conductor", "6:1: unknown key `ask`; did you mean `asks`?"),
        ("asks: conductor", "#", "1:1: `asks` is missing; add it here"),
        ("    level: 0", "    levl: 0", "16:5: unknown key `levl`; did you mean `level`?"),
        ("    level: 0", "    colour: red", "16:5: unknown key `colour`; known here: id, title, "),
        ("within: 4}", "withing: 4}", "unknown key `withing`; did you mean `within`?"),
        ("every: 5000, ", "each: 5000, ", "unknown key `each`; known here: unit, low, high, "),
        ("id: small", "id: small\nid: small", "3:1: key `id` is already on line 2; keep one"),
        (
            "asks: conductor",
            "asks: conductor\nask-by-voice: {callword: logbook}",
            "7:16: unknown key `callword`; did you mean `call-word`?",
        ),
        # version
        (
            "voxlog-sheet: 1",
            "voxlog-sheet: 2",
            "1:15: `voxlog-sheet` has a version that is not known",
        ),
        # kinds of values
        ("title: A small run", "title: 2026", "3:8: `title` should be text; put it in quotes"),
        ("title: A small run", "title: ''", "3:8: `title` should not be empty"),
        ("- item: 1\n", "- item: one\n", "18:15: `item` should be a whole number"),
        ("- item: 1\n", "- item: 0\n", "18:15: `item` should be greater than or equal to 1"),
        ("- item: 1\n", "- thing: 1\n", "18:9: a step needs `item: NUMBER` or `cue: NAME`"),
        ("min: 1600", "min: '1600'", "`min` should be a number; write it in digits, without"),
        ("min: 1600", "min: .inf", "`min` should be a number"),
        ("within: 4}", "within: 0}", "`within` should be greater than 0; correct it"),
        ("within: 4}", "mandatory: maybe}", "`mandatory` should be true or false"),
        ("stand-in: [attendant]", "stand-in: attendant", "`stand-in` should be a list"),
        ("id: small", "id: Small Run", "2:5: `Small Run` is not a name; use small letters"),
        ("unit: psi", "unit: a b", "`a b` is not a unit"),
        ("phases:\n", "phases: []\nmore:\n", "13:9: a sheet needs at least one phase"),
        (
            "title: A small run",
            'title: "two\\nlines"',
            "3:8: `title` has a line break or a control",
        ),
        ("id: small", 'id: "two\\nlines"', "2:5: `two lines` is not a name"),
        ("asks: conductor", '"as\\nks": x', "6:1: unknown key `as ks`; did you mean `asks`?"),
        # limits
        ("min: 1600", "min: 2600", "min 2600 is above max 2200; exchange them"),
        ("min: 1600", "min: 1600, low: 1700", "min 1600 is outside what can be said, 1700 to"),
        ("max: 2200", "max: 2200, high: 2000", "max 2200 is outside what can be said, 1300 to"),
        ("max: 2200", "low: 10", "what can be said has no end; give `low` and `high`"),
        ("step: 50", "step: 0.01", "more than 10000 values can be said; make `step` larger"),
        ("every: 5000, ", "every: 1, ", "more than 200 calls are due; make `every` larger"),
        ("every: 5000, ", "", "`every` is missing; say how far apart the calls are"),
        ("max: 2200", "low: 9, high: 8", "low 9 is above high 8; exchange them"),
        ("every: 5000, ", "every: 5000, low: 6000, ", "a level is outside low 6000 to high 30000"),
        ("until: 120", "until: 9000", "more than 200 calls are due; make `every` larger"),
        ("until: 120", "until: 20", "`until` comes before the first call"),
        # phrases
        ('say: "passing {value}"', "say: passing", "`passing` needs {value} once"),
        ('"resume at item {item}"', "go on", "10:9: `go on` needs {item} once"),
        ("hold the run", "hold {value}", "9:7: `hold {value}` has a slot, but nothing here"),
        ("hold the run", "'[hold]'", "9:7: the phrase may be left empty"),
        ("hold the run", "7", "9:7: `hold` should be a phrase or a list of phrases"),
        ("ask: colour", "ask: []", "`ask` should not be empty; write the words that are said"),
        ("hold the run", "[hold, 7]", "9:14: 7 is not a phrase; write it as words, in quotes"),
        ("hold the run", "[hold it, (hold, stop]", "9:17: `(` at character 1 is not closed"),
        ("[three, two, one]", "[three, 2, one]", "`count` should be text; put it in quotes"),
        ("[three, two, one]", "[three, two, '1']", "digits in `1` at character 1"),
        ("door <shut>", "door <shutt>", "<shutt> at character 6 is not defined"),
        (
            '"(shut | closed)"',
            '"<shut>"',
            "8:9: definitions go round in a circle: <shut> -> <shut>",
        ),
        ("deny: ajar", "deny: door closed", "`door closed` both confirms and denies item 4"),
        # rules across the sheet
        ("- item: 2\n", "- item: 1\n", "23:15: item 1 is already on line 18; give one of them"),
        ("{item: 5,", "{item: 3,", "item 3 comes after item 4 on line 28; number the items"),
        ("asks: conductor", "asks: conducter", "6:7: no position `conducter`; did you mean `con"),
        ("[attendant]", "[surgeon]", "no position `surgeon`; known: conductor, attendant, op"),
        ("cue: masks-off, every", "cue: mask-off, every", "no cue `mask-off`; did you mean `m"),
        ("id: climb", "id: pulse", "`pulse` is already on line 12; rename one of them"),
        ("id: run", "id: ground", "phase `ground` is already on line 14; rename one of them"),
        ("lips blue, within: 4", "x, group: doors", "group `doors` was left on line 29; put its"),
    ],
)
def test_one_fault_gives_one_problem_with_its_place(
    small_sheet: str, old: str, new: str, message: str
) -> None:
    place = re.match(r"\d+:\d+: ", message)
    with pytest.raises(SheetError) as caught:
        read_sheet(broken(small_sheet, old, new), "s.yaml")
    problems = [str(problem) for problem in caught.value.problems]
    assert any((f"s.yaml:{message}" if place else message) in text for text in problems), problems
    assert len(problems) <= 2


def test_all_faults_are_reported_together_in_file_order(small_sheet: str) -> None:
    text = broken(small_sheet, "asks: conductor", "asks: nobody")
    text = broken(text, "- item: 2\n", "- item: 1\n")
    text = broken(text, "within: 4}", "withing: 4}")
    text = broken(text, "until: 120", "until: soon")
    text = broken(text, "title: Run", "title: Run\n    title: Run")
    with pytest.raises(SheetError) as caught:
        read_sheet(text, "s.yaml")
    assert [problem.line for problem in caught.value.problems] == [6, 23, 32, 35, 40]
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("s.yaml:6:7: no position `nobody`")
    assert str(caught.value).endswith("(and 4 more; run `voxlog sheet check s.yaml`)")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "s.yaml:1:1: the sheet is empty; start with `voxlog-sheet: 1`"),
        (" \n\n", "the sheet is empty"),
        ("# only a remark\n", "not a sheet; start with `voxlog-sheet: 1`"),
        ("just words", "not a sheet"),
        ("- a list\n", "not a sheet"),
        ("[" * 10_000, "nested more than 16 deep"),
        ("a: " + "x" * MAX_BYTES, "larger than 1 MiB"),
        ("a: [" + "1," * 60_000 + "]", "more than 50,000 keys and values"),
        # the "billion laughs" of YAML
        ("a: &a [lol, lol]\nb: &b [*a, *a]\nc: &c [*b, *b]\n", "s.yaml:1:4: anchor &a is not"),
        ("voxlog-sheet: 1\n\tid: x\n", "s.yaml:2:1: "),
        ("voxlog-sheet: 1\n\ud800", "a character or escape that text cannot have"),
    ],
)
def test_a_text_that_is_no_sheet_is_refused_in_one_line(text: str, message: str) -> None:
    with pytest.raises(SheetError) as caught:
        read_sheet(text, "s.yaml")
    assert message in str(caught.value)
    assert len(caught.value.problems) == 1


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "the sheet is empty"),
        (b"id: x\nname: \xff\xfe\n", ":2: not UTF-8 text; save the sheet as plain text"),
        ("voxlog-sheet: 1".encode("utf-16"), ":1: not UTF-8 text"),
        (b"RIFF\x00\x00\x00\x00WAVE", "a character or escape that text cannot have"),
        (b"a" * (MAX_BYTES + 1), "larger than 1 MiB"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused(content: bytes, message: str, tmp_path: Path) -> None:
    path = tmp_path / "s.yaml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=re.escape(message)) as caught:
        load_sheet(path)
    assert str(caught.value).startswith(str(path))


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("missing.yaml", "no such file or directory; name a readable sheet file"),
        ("", "is a directory; name a readable sheet file"),
        ("nul\0.yaml", "name a readable sheet file"),
        ("x" * 300, "file name too long"),
    ],
)
def test_a_path_that_cannot_be_read_is_named(name: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        load_sheet(tmp_path / name)


@pytest.mark.skipif(os.name != "posix", reason="needs /dev/zero")
def test_an_endless_file_is_not_read_to_its_end() -> None:
    with pytest.raises(InputError, match="larger than 1 MiB"):
        load_sheet("/dev/zero")


@given(st.text(max_size=80))
def test_no_text_at_all_gives_anything_but_a_sheet_error(text: str) -> None:
    with pytest.raises(SheetError):
        read_sheet(text)


@given(st.data())
def test_a_sheet_with_pieces_cut_moved_or_put_in_is_read_or_refused(data: st.DataObject) -> None:
    text = _FUZZ_SEED
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.integers(0, 12)))
        put_in = data.draw(st.sampled_from(_FUZZ_PIECES) | st.text(max_size=4))
        text = text[:start] + put_in + text[end:]
    try:
        read_sheet(text)
    except SheetError as error:
        assert all(problem.line >= 1 and problem.column >= 1 for problem in error.problems)
        assert "\n" not in str(error)


_FUZZ_PIECES = [
    *("\n", "  ", "\t", ": ", "- ", "[", "]", "{", "}", '"', "'", "|", "&a ", "*a", "!t ", "#"),
    *("<", ">", "{value}", "{item}", "item: 1", "-1", "1e999", ".nan", "0", "1e-300", "9" * 30),
    *("null", "true", "~", "[]", "{}", "low: 1", "min: 5", "every: 1", "\n---\n", "%YAML 1.1"),
]
_FUZZ_SEED = """\
voxlog-sheet: 1
id: s
title: S
source: none
positions: {a: A, b: B}
asks: a
define: {x: "(p | q)", y: "<x> r"}
resume: "at {item}"
readings: [{id: r, by: a, say: "r {value}", unit: s, min: 5, max: 10, step: 0.5}]
phases:
- id: p
  title: P
  steps:
  - {item: 1, ask: "g [h]", by: a, confirm: ["<y>", z], deny: [w], group: k}
  - {item: 2, ask: i, by: b, value: {unit: psi, min: 1, max: 2, low: 0, high: 9}}
  - {cue: c, by: a, say: t, count: [one], go: now}
  callouts: [{id: u, by: a, say: "{value}", unit: ft, every: 5, from: 5, to: 20}]
  elapsed: [{id: e, cue: c, every: 30, until: 60, by: b, say: "{value}"}]
"""


def test_the_fuzzed_sheet_is_right_to_begin_with() -> None:
    assert read_sheet(_FUZZ_SEED).item(1).confirm == ("p r", "q r", "z")
