"""An edit changes what it is about, and every other character stays."""

import pytest
from ruamel.yaml import YAML

from voxlog.learn.yaml_edit import Loc, add_phrase, add_remark, entries, replace_words, set_scalars

BLOCK = """\
# about the sheet
steps:   # in order
  - item: 1
    ask: intercom check
    confirm: ["loud and clear",  'five by five']   # both are heard
    deny: not reading you  # rare

  - {item: 2, ask: valve, confirm: in reach, by: operator}   # short form
  - item: 3
    confirm:
      - shut   # the usual
      - "[it is] closed"
    value: {unit: psi, min: 10, say: ["{value} [psi]", "psi {value}"]}

  # the last one
  - item: 4
    ask: hatch
    confirm: [first,
              second]
last: end"""


def place(item: int) -> Loc:
    return ("steps", item - 1)


@pytest.mark.parametrize(
    ("item", "key", "old", "new"),
    [
        (1, "confirm", "'five by five']", "'five by five', \"so and so\"]"),
        (1, "deny", "deny: not reading you", 'deny: [not reading you, "so and so"]'),
        (2, "confirm", "confirm: in reach", 'confirm: [in reach, "so and so"]'),
        (2, "deny", "by: operator}", 'by: operator, deny: ["so and so"]}'),
        (3, "confirm", '"[it is] closed"\n', '"[it is] closed"\n      - "so and so"\n'),
        (3, "deny", '{value}"]}\n', '{value}"]}\n    deny: ["so and so"]\n'),
        (4, "confirm", "second]", 'second, "so and so"]'),
        (4, "deny", "second]\n", 'second]\n    deny: ["so and so"]\n'),
    ],
)
def test_a_phrase_is_added_where_it_belongs(item: int, key: str, old: str, new: str) -> None:
    assert BLOCK.count(old) == 1
    for text in (BLOCK, BLOCK.replace("\n", "\r\n")):
        is_crlf = "\r\n" in text
        wanted = BLOCK.replace(old, new).replace("\n", "\r\n" if is_crlf else "\n")
        changed = add_phrase(text, place(item), key, "so and so")
        assert changed == wanted
        step = YAML(typ="safe", pure=True).load(changed)["steps"][item - 1]
        assert step[key][-1] == "so and so"


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("plain words", "plain words"),
        ("'single'", "single"),
        ("closed, and locked", "closed, and locked"),
        ("door <shut>", "door <shut>"),
        ('a "b" c', 'a "b" c'),
        ("back\\slash", "back\\slash"),
        ("yes?", "yes?"),
    ],
)
def test_a_single_phrase_becomes_a_list_and_stays_what_it_was(written: str, value: str) -> None:
    text = f"confirm: {written}\n"
    yaml = YAML(typ="safe", pure=True)
    assert yaml.load(add_phrase(text, (), "confirm", "new")) == {"confirm": [value, "new"]}


def test_an_empty_list_is_filled() -> None:
    assert add_phrase("confirm: []  # none\n", (), "confirm", "so") == 'confirm: ["so"]  # none\n'


def test_a_text_without_a_last_line_end_gets_a_line() -> None:
    assert add_phrase("a: 1\nb: x", (), "deny", "so") == 'a: 1\nb: x\ndeny: ["so"]'


@pytest.mark.parametrize(
    ("loc", "line"),
    [
        ((*place(1), "confirm"), '    confirm: ["loud'),
        ((*place(1), "confirm", 1), '    confirm: ["loud'),
        ((*place(3), "confirm", 1), '      - "[it is] closed"'),
        (place(2), "  - {item: 2"),
        (place(4), "  - item: 4"),
        ((*place(4), "confirm", 1), "              second]"),
    ],
)
def test_a_remark_stands_above_its_line_once(loc: Loc, line: str) -> None:
    assert BLOCK.count(line) == 1
    space = line[: len(line) - len(line.lstrip())]
    changed = add_remark(BLOCK, loc, "look here")
    assert changed == BLOCK.replace(line, f"{space}# look here\n{line}")
    assert add_remark(changed, loc, "look here") == changed
    yaml = YAML(typ="safe", pure=True)
    assert yaml.load(changed) == yaml.load(BLOCK)


def test_scalars_are_written_over_or_added() -> None:
    loc = (*place(3), "value")
    changed = set_scalars(BLOCK, loc, {"unit": "bar", "min": "0.5", "step": "0.1"})
    old = '{unit: psi, min: 10, say: ["{value} [psi]", "psi {value}"]}'
    new = '{unit: bar, min: 0.5, say: ["{value} [psi]", "psi {value}"], step: 0.1}'
    assert changed == BLOCK.replace(old, new)


def test_words_are_replaced_whole_and_only_there() -> None:
    loc = (*place(3), "value", "say")
    changed = replace_words(BLOCK, loc, ["psi"], "bar")
    assert changed == BLOCK.replace(
        '"{value} [psi]", "psi {value}"', '"{value} [bar]", "bar {value}"'
    )
    assert replace_words(BLOCK, loc, ["ps", "alu"], "bar") == BLOCK
    assert replace_words(BLOCK, (*place(1), "say"), ["psi"], "bar") == BLOCK


def test_entries_of_a_list_of_a_scalar_and_of_nothing() -> None:
    assert entries(BLOCK, (*place(3), "confirm")) == ("shut", "[it is] closed")
    assert entries(BLOCK, (*place(1), "deny")) == ("not reading you",)
    assert entries(BLOCK, (*place(4), "deny")) is None
