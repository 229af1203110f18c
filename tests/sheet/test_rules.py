"""Rules across a sheet pass over what is of the wrong type and still find the rest.

That each rule finds its breach, with its line, is shown in test_load.py.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voxlog.sheet.rules import breaches


def phase(*steps: Any, **others: Any) -> dict[str, Any]:
    return {"id": "p", "steps": list(steps)} | others


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"phases": None},
        {"phases": "text"},
        {"phases": [None, 3, "text", []]},
        {"phases": [{"steps": {"item": 1}}]},
        {"phases": [{"steps": [None, "x", {"item": "1"}, {"item": None}, {"item": True}]}]},
        {"positions": ["a"], "asks": "b"},
        {"positions": {"a": "A"}, "asks": 3, "phases": [phase({"item": 1, "by": ["a"]})]},
        {"phases": [phase({"cue": 3}, elapsed=[{"cue": None}], readings=[{"id": 4}])]},
        # items that are in order, names that differ, groups that stand together
        {"phases": [phase({"item": 1, "group": "g"}, {"item": 2, "group": "g"}, {"cue": "c"})]},
        {"phases": [phase({"item": 1}), phase({"item": 2}) | {"id": "q"}]},
    ],
)
def test_nothing_to_report(data: dict[str, Any]) -> None:
    assert list(breaches(data)) == []


@pytest.mark.parametrize(
    ("data", "whats"),
    [
        ({"phases": [phase({"item": 2}, "x", {"item": 2})]}, ["item 2 is already"]),
        # each later item is measured against the highest before it
        (
            {"phases": [phase({"item": 9}, {"item": 3}, {"item": 4}, {"item": 10})]},
            ["item 3 comes after item 9", "item 4 comes after item 9"],
        ),
        # a group does not reach into the next phase
        (
            {
                "phases": [
                    phase({"item": 1, "group": "g"}),
                    phase({"item": 2, "group": "g"}, id="q"),
                ]
            },
            ["group `g` was left"],
        ),
        # a cue between breaks a group
        (
            {"phases": [phase({"item": 1, "group": "g"}, {"cue": "c"}, {"item": 2, "group": "g"})]},
            ["group `g` was left"],
        ),
        # a cue and a reading share the log's column
        ({"readings": [{"id": "c"}], "phases": [phase({"cue": "c"})]}, ["`c` is already"]),
    ],
)
def test_breaches_are_found(data: dict[str, Any], whats: list[str]) -> None:
    assert [breach.what for breach in breaches(data)] == whats


_names = st.sampled_from(["phases", "steps", "item", "cue", "id", "by", "elapsed", "positions"])
_data = st.recursive(
    st.none() | st.integers(0, 3) | st.sampled_from(["a", "b"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_names, inner, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(_names, _data))
def test_data_of_any_shape_is_passed_over_without_error(data: dict[str, Any]) -> None:
    for breach in breaches(data):
        assert breach.what and breach.cure
