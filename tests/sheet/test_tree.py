"""Plain data and its places from YAML text."""

from io import StringIO
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from voxlog.sheet.marks import Loc, Mark
from voxlog.sheet.tree import read_tree


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # YAML 1.2.2 section 10.3.2, tag resolution of the core schema; and what YAML 1.1 would
        # have made of these (no -> False, 12:30:00 -> 45000, 1_000 -> 1000).
        ("no", "no"),
        ("on", "on"),
        ("12:30:00", "12:30:00"),
        ("1_000", "1_000"),
        ("2026-11-25", "2026-11-25"),
        ("true", True),
        ("False", False),
        ("~", None),
        ("null", None),
        ("12", 12),
        ("-3", -3),
        ("+12", 12),
        ("2.5", 2.5),
        (".5", 0.5),
        ("1e3", 1000.0),
        ("'12'", "12"),
        ('"true"', "true"),
        ("|\n  two\n  lines\n", "two\nlines\n"),
    ],
)
def test_scalars_follow_the_core_schema(text: str, value: Any) -> None:
    tree = read_tree(f"a: {text}")
    assert tree.data == {"a": value} and not tree.faults
    assert type(tree.data["a"]) is type(value)


@pytest.mark.parametrize(
    ("loc", "mark"),
    [
        ((), Mark(2, 1)),
        (("a",), Mark(2, 4)),
        (("b",), Mark(4, 3)),
        (("b", 1), Mark(5, 5)),
        (("b", 1, "c"), Mark(5, 9)),
        # unknown: the nearest part around it
        (("b", 1, "nothing", "here"), Mark(5, 5)),
    ],
)
def test_every_part_knows_its_line_and_column(loc: Loc, mark: Mark) -> None:
    tree = read_tree("# remark\na: 1\nb:\n  - x\n  - {c: 2}\n")
    assert tree.mark(loc) == mark


@pytest.mark.parametrize(
    ("text", "mark", "message"),
    [
        ("a: &x [1]\nb: *x\n", Mark(1, 4), "anchor &x is not allowed"),
        ("b: *x\n", Mark(1, 4), "alias *x is not allowed"),
        ("a: !!python/name:os.system x\n", Mark(1, 4), "tag tag:yaml.org,2002:python/name"),
        ("%YAML 1.1\n---\na: no\n", Mark(1, 1), "directives are not used"),
        ("a: 1\n---\nb: 2\n", Mark(2, 1), "a second YAML document"),
        ("[a, b]: 1\n", Mark(1, 1), "a key must be one word"),
        ("? [a]\n: 1\n", Mark(1, 3), "a key must be one word"),
        ("a:\n\t- b\n", Mark(2, 1), "a tab where spaces belong"),
        ("a: [1\n", Mark(2, 1), "not YAML: "),
        ("a: b: c\n", Mark(1, 5), "not YAML: "),
        ('a: "\\UFFFFFFFF"\n', Mark(1, 1), "a character or escape that text cannot have"),
        ("a: 1\nb: \x00\n", Mark(2, 4), "a character or escape that text cannot have"),
        ("[" * 10_000, Mark(1, 17), "nested more than 16 deep"),
        ("{" * 10_000, Mark(1, 2), "a key must be one word"),
        ("- " * 10_000, Mark(1, 33), "nested more than 16 deep"),
        ("a:\n" + "- b\n" * 50_000, Mark(49_999, 3), "more than 50,000 keys and values"),
    ],
)
def test_what_a_sheet_must_not_hold_stops_the_reading(text: str, mark: Mark, message: str) -> None:
    tree = read_tree(text)
    assert not tree.is_whole
    assert len(tree.faults) == 1
    assert tree.faults[0][0] == mark
    assert message in tree.faults[0][1]


def test_every_double_key_is_reported_and_the_reading_goes_on() -> None:
    tree = read_tree("a: 1\nb: {c: 1, c: 2}\na: 3\n")
    assert tree.is_whole
    assert tree.faults == [
        (Mark(2, 11), "key `c` is already on line 2; keep one of them"),
        (Mark(3, 1), "key `a` is already on line 1; keep one of them"),
    ]


# No colon: ruamel.yaml 0.19.1 writes {"a": {"a": ":a"}} in a way that it cannot read itself.
_scalars = st.none() | st.booleans() | st.integers(-999, 999) | st.text("abc -#'\"é", max_size=6)
_data = st.recursive(
    _scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", min_size=1), inner),
    max_leaves=8,
)


@given(_data)
def test_data_written_by_the_yaml_library_is_read_back(data: Any) -> None:
    stream = StringIO()
    YAML(typ="safe", pure=True).dump(data, stream)
    assert read_tree(stream.getvalue()).data == data


@given(st.text(max_size=60))
def test_any_text_is_read_or_has_a_fault(text: str) -> None:
    tree = read_tree(text)
    assert tree.is_whole or tree.faults


@given(st.text(alphabet="ab:-[]{},&*!|>'\"%@`?# \n\t\\xuU0", max_size=60))
def test_any_text_of_yaml_signs_is_read_or_has_a_fault(text: str) -> None:
    tree = read_tree(text)
    assert tree.is_whole or tree.faults
