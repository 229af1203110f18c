"""One line of text for a row."""

import pytest

from tests.export.rows import TEXTS
from voxlog.export.run import Row
from voxlog.export.text import format_seconds, label, one_line
from voxlog.follow.event import Event


@pytest.mark.parametrize(("text", "line"), TEXTS.items())
def test_every_text_is_one_line(text: str, line: str) -> None:
    assert one_line(text) == line
    line.encode()


@pytest.mark.parametrize(
    ("event", "review", "line"),
    [
        (Event(0, 1, "note", heard="what was that"), "", '#3 note - "what was that"'),
        (
            Event(0, 1, "item", item="4", position="operator", status="skipped"),
            "open",
            "#3 item 4: skipped - operator",
        ),
        (
            Event(
                *(0, 1, "callout", "", "climb", "operator", None, ("misread", "late")),
                *("passing one five thousand", 15000.0, "ft"),
            ),
            "agreed",
            '#3 callout climb 15000 ft: misread, late - operator "passing one five thousand"'
            " [agreed]",
        ),
        (Event(0, 1, "hold"), "", "#3 hold"),
    ],
)
def test_a_row_in_words(event: Event, review: str, line: str) -> None:
    assert label(Row(3, 0, 1000, event, review)) == line


@pytest.mark.parametrize(
    ("ms", "text"),
    [(0, "0.000"), (61_250, "61.250"), (-5, "-0.005"), (-1500, "-1.500"), (7, "0.007")],
)
def test_seconds_have_three_decimals(ms: int, text: str) -> None:
    assert format_seconds(ms) == text
